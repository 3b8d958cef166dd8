"""The preview read back: its frames, what they show, its tags, its place for streaming."""

import io
from fractions import Fraction

import av
import numpy as np
import pytest
from PIL import ExifTags, Image, ImageDraw

from shots.preview_film import PictureLost, frame_size, write_preview
from shots.trade.preview import KeptPicture, ShotSoFar, film_stretches, shot_stretches

SIZE = (320, 180)
STRIP = 20
"""lines above the picture"""
SHADES = {1: 60, 2: 110, 3: 160, 4: 210}


def picture(colour, size=(640, 360), kind="PNG", **how) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, colour).save(out, kind, **how)
    return out.getvalue()


def grey_picture(key: int) -> bytes:
    return picture((SHADES[key],) * 3)


def written(path, stretches, rate=Fraction(24), size=SIZE, picture_of=grey_picture):
    write_preview(path, stretches, rate, size, picture_of, lambda done, total: None)
    with av.open(str(path)) as film:
        return [frame.to_ndarray() for frame in film.decode(video=0)]


def shot(*pictures: KeptPicture, frames: int, reused: int = 0) -> ShotSoFar:
    return ShotSoFar("A010", "The fox waves", 2, frames, reused, pictures)


def luma(frame: np.ndarray) -> int:
    """In the middle of the picture."""
    return round(float(frame[80:140, 100:220].mean()))


def test_every_picture_is_on_screen_for_as_long_as_it_is_held(tmp_path):
    kept = (KeptPicture(1, 1), KeptPicture(2, 2, frames=5), KeptPicture(3, 3))
    frames = written(tmp_path / "film.mp4", shot_stretches(shot(*kept, frames=12, reused=3)))
    # Full-range grey g becomes 16 + 219 g / 255 (ITU-R BT.709-6, 8 bits).
    levels = {key: round(16 + 219 * grey / 255) for key, grey in SHADES.items()}
    wanted = [1, 1, 2, 2, 2, 2, 2, 3, 3, 1, 1, 2]
    assert len(frames) == 12
    assert [abs(luma(f) - levels[key]) <= 1 for f, key in zip(frames, wanted, strict=True)] == [
        True
    ] * 12
    held = [frame[STRIP:200] for frame in frames[2:7]]
    assert max(np.abs(one.astype(int) - held[0]).max() for one in held) <= 2


@pytest.mark.parametrize("rate", [Fraction(24), Fraction(25, 2), Fraction(24000, 1001)])
def test_the_file_says_what_players_need_to_know(rate, tmp_path):
    path = tmp_path / "film.mp4"
    written(path, film_stretches([shot(KeptPicture(1, 1), frames=30)]), rate)
    with av.open(str(path)) as film:
        (stream,) = film.streams
        frame = next(film.decode(video=0))
        assert stream.codec_context.name == "h264"
        assert stream.average_rate == rate
        assert stream.frames == 30
        # Above 180 lines of picture lies the strip.
        assert (frame.width, frame.height, frame.format.name) == (320, 200, "yuv420p")
        # ITU-T H.273: 1 is BT.709; range 1 is limited (video) range in FFmpeg's count.
        tags = frame.color_primaries, frame.color_trc, frame.colorspace, frame.color_range
        assert tuple(map(int, tags)) == (1, 1, 1, 1)
    data = path.read_bytes()
    assert data.index(b"moov") < data.index(b"mdat")  # the index first: it plays while it loads


def test_colours_are_those_of_bt_709(tmp_path):
    stretches = shot_stretches(shot(KeptPicture(1, 1), frames=2))
    frames = written(tmp_path / "film.mp4", stretches, picture_of=lambda _: picture("red"))
    # Y'CbCr of pure red: ITU-R BT.709-6, H.264 E-10 and table E-5.
    colours = frames[0][200:].reshape(2, 100, 160)[:, 60, 80]
    found = (int(frames[0][90, 160]), *map(int, colours))
    assert all(abs(a - b) <= 2 for a, b in zip(found, (63, 102, 240), strict=True)), found


def test_what_is_burnt_in_changes_with_each_frame_and_covers_no_picture(tmp_path):
    frames = written(tmp_path / "film.mp4", shot_stretches(shot(KeptPicture(1, 1), frames=2)))
    below = frames[0][STRIP + 4 : 200]
    assert int(below.max()) - int(below.min()) <= 2
    strips = [frame[: STRIP - 2].astype(int) for frame in frames]
    assert strips[0].max() > 200
    assert np.abs(strips[0] - strips[1]).max() > 100


def test_grey_cards_stand_for_what_is_to_come_and_for_a_lost_file(tmp_path):
    def lost(key: int) -> bytes:
        if key == 2:
            raise PictureLost
        return b"no picture" if key == 3 else grey_picture(key)

    kept = (KeptPicture(4, 1), KeptPicture(2, 2), KeptPicture(3, 3))
    stretches = film_stretches([shot(*kept, frames=8)])
    frames = written(tmp_path / "film.mp4", stretches, picture_of=lost)
    edges = [round(float(frame[30:50, 4:60].mean())) for frame in frames]
    card = round(16 + 219 * 118 / 255)
    assert [abs(edge - card) <= 1 for edge in edges] == [False] * 2 + [True] * 6


def test_a_picture_on_its_side_is_turned_upright_and_a_taller_one_gets_bars(tmp_path):
    image = Image.new("RGB", (360, 180), "black")
    ImageDraw.Draw(image).rectangle((0, 0, 89, 179), "white")
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = 6  # turned right by a quarter: its left end is on top
    out = io.BytesIO()
    image.save(out, "JPEG", exif=exif)
    stretches = shot_stretches(shot(KeptPicture(1, 1), frames=2))
    frame = written(tmp_path / "film.mp4", stretches, picture_of=lambda _: out.getvalue())[0]
    assert frame[30:55, 125:195].min() > 200
    assert frame[80:190, :].max() < 40
    assert frame[30:55, :100].max() < 40


@pytest.mark.parametrize(
    ("pixels", "wanted"),
    [
        ((4032, 3024), (960, 720)),
        ((1920, 1080), (1280, 720)),
        ((320, 213), (1082, 720)),
        ((1080, 1920), (720, 1280)),
        ((500, 500), (720, 720)),
        ((4000, 300), (1280, 96)),
    ],
)
def test_the_size_keeps_the_pictures_shape_in_even_pixels(pixels, wanted):
    assert frame_size(*pixels) == wanted


def test_what_progress_raises_ends_the_writing(tmp_path):
    def stop(done: int, total: int) -> None:
        assert total == 8
        if done == 3:
            raise InterruptedError

    stretches = film_stretches([shot(KeptPicture(1, 1), frames=8)])
    with pytest.raises(InterruptedError):
        write_preview(tmp_path / "film.mp4", stretches, Fraction(24), SIZE, grey_picture, stop)
