"""Writes a preview: pictures and grey cards as an H.264 film that any browser plays."""

from collections.abc import Callable, Sequence
from fractions import Fraction
from functools import cache
from io import BytesIO
from pathlib import Path

import av
import numpy as np
from av.video.reformatter import ColorPrimaries, ColorRange, Colorspace, ColorTrc
from PIL import Image, ImageDraw, ImageFont, ImageOps

from shots.trade.preview import Stretch, Writing, length, writing
from studio.documents.paper import font_file, font_runs

LONG_EDGE, SHORT_EDGE = 1280, 720  # px
QUICK = {"preset": "veryfast", "crf": "23"}
GREY = (118, 118, 118)  # an 18 % grey card, in sRGB
DARK, LIGHT = 24, 235  # luma of the strip and of what is written on it

Planes = np.ndarray
"""I420 planes stacked, as PyAV takes them: luma, then blue and red difference."""


class PictureLost(Exception):
    """What was kept of a picture cannot be read any more."""


def frame_size(width: int, height: int) -> tuple[int, int]:
    """The preview's width and height for pictures of this shape, in even pixels."""
    across, down = (LONG_EDGE, SHORT_EDGE) if width >= height else (SHORT_EDGE, LONG_EDGE)
    scale = min(Fraction(across, width), Fraction(down, height))
    return max(2, round(width * scale / 2) * 2), max(64, round(height * scale / 2) * 2)


def write_preview(
    path: Path,
    stretches: Sequence[Stretch],
    rate: Fraction,
    size: tuple[int, int],
    picture_of: Callable[[int], bytes],
    progress: Callable[[int, int], None],
) -> None:
    """Writes the film to ``path``; ``rate`` in frames per second, ``size`` in even pixels.

    A strip above the picture carries what is burnt in: it covers nothing, and a player's controls,
    which lie below, do not cover it.
    ``picture_of`` gives the bytes of a picture by its key, or raises PictureLost, upon which a card
    stands in its place. ``progress`` hears of frames done and frames in all; what it raises ends
    the writing.
    """
    total = length(stretches)
    strip = _Strip(size)
    width, height = size
    with av.open(str(path), "w", format="mp4", container_options={"movflags": "faststart"}) as out:
        stream = _stream(out, rate, (width, height + strip.depth))
        before, picture = None, None
        for number, (stretch, words) in enumerate(writing(stretches, rate)):
            progress(number, total)
            if stretch is not before:
                before, picture = stretch, _planes(_image(stretch, size, picture_of), strip.depth)
            picture[: strip.depth] = strip.with_words(words)
            frame = av.VideoFrame.from_ndarray(picture, format="yuv420p")
            frame.pts, frame.time_base = number, 1 / rate
            frame.colorspace, frame.color_range = Colorspace.ITU709, ColorRange.MPEG
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))


def _stream(out: av.container.OutputContainer, rate: Fraction, size: tuple[int, int]):
    stream = out.add_stream("libx264", rate=rate)
    stream.width, stream.height = size
    stream.pix_fmt = "yuv420p"
    stream.options = QUICK
    coder = stream.codec_context
    coder.time_base = 1 / rate
    coder.color_primaries, coder.color_trc = ColorPrimaries.BT709, ColorTrc.BT709
    coder.colorspace, coder.color_range = Colorspace.ITU709, ColorRange.MPEG
    return stream


def _image(
    stretch: Stretch, size: tuple[int, int], picture_of: Callable[[int], bytes]
) -> Image.Image:
    if stretch.picture is None:
        return _card(stretch, size, stretch.note)
    try:
        return _photograph(picture_of(stretch.picture), size)
    except PictureLost:
        return _card(stretch, size, f"{stretch.note}: its file is lost")


def _photograph(data: bytes, size: tuple[int, int]) -> Image.Image:
    """The picture upright in the middle of the frame, as large as it fits."""
    try:
        image = Image.open(BytesIO(data))
        image.draft("RGB", size)
        image = ImageOps.exif_transpose(image).convert("RGB")
    except (OSError, ValueError, SyntaxError) as error:
        raise PictureLost from error
    return ImageOps.pad(image, size, Image.Resampling.BICUBIC, color="black")


def _card(stretch: Stretch, size: tuple[int, int], note: str) -> Image.Image:
    """A grey card that names the shot."""
    width, height = size
    card = Image.new("RGB", size, GREY)
    pen = ImageDraw.Draw(card)
    unit = min(width, height) // 12
    middle = height // 2
    _centred(pen, stretch.shot, unit * 2, (width, middle - unit * 3))
    _centred(pen, stretch.description, unit * 3 // 4, (width, middle))
    frames = f"{stretch.frames} frame{'s' if stretch.frames != 1 else ''}"
    _centred(pen, f"{note}, {frames}", unit * 3 // 4, (width, middle + unit * 5 // 4))
    return card


def _centred(pen: ImageDraw.ImageDraw, text: str, height: int, place: tuple[int, int]) -> None:
    width, top = place
    text = _shortened(text, height, width * 9 // 10)
    _write(pen, text, height, ((width - _width(text, height)) / 2, top), "white")


def _planes(image: Image.Image, strip: int) -> Planes:
    """The picture with room for a strip of that many lines above it."""
    framed = Image.new("RGB", (image.width, image.height + strip))
    framed.paste(image, (0, strip))
    frame = av.VideoFrame.from_image(framed).reformat(
        format="yuv420p", dst_colorspace=Colorspace.ITU709, dst_color_range=ColorRange.MPEG
    )
    return frame.to_ndarray()


class _Strip:
    """The dark strip above the picture, with what is burnt in."""

    def __init__(self, size: tuple[int, int]):
        self.width = size[0]
        self.depth = max(20, min(size) // 18 // 2 * 2)
        self.letters = self.depth * 3 // 5

    def with_words(self, words: Writing) -> np.ndarray:
        """Its luma, lines × pixels."""
        strip = Image.new("L", (self.width, self.depth), DARK)
        pen = ImageDraw.Draw(strip)
        margin, top = self.letters, (self.depth - self.letters) // 2 - self.letters // 6
        right = self.width - margin - _width(words.right, self.letters)
        middle = right - 2 * margin - _width(words.middle, self.letters)
        left = _shortened(words.left, self.letters, middle - 2 * margin)
        for text, place in ((left, margin), (words.middle, middle), (words.right, right)):
            _write(pen, text, self.letters, (place, top), LIGHT)
        return np.asarray(strip)


# --- letters -----------------------------------------------------------------------------


@cache
def _font(name: str, height: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(font_file(name), height)


def _write(pen: ImageDraw.ImageDraw, text: str, height: int, place, fill) -> None:
    across, top = place
    for name, run in font_runs(text):
        font = _font(name, height)
        pen.text((across, top + height), run, fill=fill, font=font, anchor="ls")
        across += font.getlength(run)


def _width(text: str, height: int) -> float:
    return sum(_font(name, height).getlength(run) for name, run in font_runs(text))


def _shortened(text: str, height: int, width: float) -> str:
    """As much of the text as fits, with “…” where some is left out."""
    if _width(text, height) <= width:
        return text
    while text and _width(f"{text}…", height) > width:
        text = text[:-1]
    return f"{text.rstrip()}…"
