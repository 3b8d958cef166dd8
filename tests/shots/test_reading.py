"""What a picture file may be, and what is believed of it."""

import hashlib
import io
import struct
import zlib
from datetime import datetime, timedelta

import numpy as np
import pytest
from PIL import ExifTags, Image
from PIL.TiffImagePlugin import IFDRational

from shots.reading import PictureError, read_picture
from shots.trade.pictures import Settings

# Exif tag numbers: Exiv2-derived tag tables.
EXPOSURE_TIME, F_NUMBER, ISO, TAKEN, SUBSECOND = 33434, 33437, 34855, 36867, 37521
OFFSET, FOCAL_LENGTH, EXPOSURE_MODE, WHITE_BALANCE = 36881, 37386, 41986, 41987
SHUTTER_APEX, APERTURE_APEX = 37377, 37378


def picture(width=320, height=200, mode="RGB") -> Image.Image:
    ramp = np.linspace(0, 255, width, dtype=np.uint8)[None].repeat(height, 0)
    return Image.fromarray(ramp).convert(mode)


def saved(image: Image.Image, form="JPEG", **options) -> io.BytesIO:
    out = io.BytesIO()
    image.save(out, form, **options)
    out.seek(0)
    return out


def with_exif(fields: dict, orientation=None) -> io.BytesIO:
    exif = Image.Exif()
    if orientation is not None:
        exif[0x0112] = orientation
    exif.get_ifd(ExifTags.IFD.Exif).update(fields)
    return saved(picture(), exif=exif.tobytes())


def png_header(width: int, height: int) -> io.BytesIO:
    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")
    return io.BytesIO(b"\x89PNG\r\n\x1a\n" + body)


def animated() -> io.BytesIO:
    return saved(picture(), "PNG", save_all=True, append_images=[picture().rotate(180)])


def cut_short(form: str) -> io.BytesIO:
    noise = np.random.default_rng(1).integers(0, 255, (200, 320, 3), dtype=np.uint8)
    data = saved(Image.fromarray(noise), form).getvalue()
    return io.BytesIO(data[: len(data) // 2])


@pytest.mark.parametrize(
    ("source", "words"),
    [
        (io.BytesIO(b""), "empty"),
        (io.BytesIO(b"not a picture at all"), "not a picture"),
        (io.BytesIO(b"\xff\xd8\xff\xe0 and then nothing of a picture"), "not a picture"),
        (cut_short("JPEG"), "cut short"),
        (cut_short("PNG"), "cut short"),
        (png_header(30_000, 30_000), "too large"),
        (png_header(9_000, 7_200), r"too large \(9000 × 7200\)"),
        (png_header(20, 20), "too small"),
        (animated(), "animated"),
        (saved(picture(), "GIF"), "GIF"),
        (saved(picture(), "BMP"), "BMP"),
    ],
)
def test_a_bad_file_is_refused_in_a_sentence(source, words):
    with pytest.raises(PictureError, match=words) as refused:
        read_picture(source, "P0001.jpg")
    assert str(refused.value).startswith("P0001.jpg ")
    assert str(refused.value).endswith(".")


def test_a_missing_file_or_a_folder_is_refused(tmp_path):
    for path in (tmp_path / "none.jpg", tmp_path):
        with pytest.raises(PictureError, match="is not a file"):
            read_picture(path)


@pytest.mark.parametrize("mode", ["L", "CMYK", "RGB"])
def test_jpeg_modes_are_read(mode):
    reading = read_picture(saved(picture(mode=mode)), "a.jpg")
    assert reading.pixels.shape == (200, 320, 3)
    assert abs(int(reading.pixels[100, 160, 1]) - 128) < 4


@pytest.mark.parametrize("mode", ["L", "RGB", "RGBA", "P", "1"])
def test_png_modes_are_read(mode):
    assert read_picture(saved(picture(mode=mode), "PNG"), "a.png").pixels.dtype == np.uint8


def test_sixteen_bit_png_keeps_its_brightness():
    deep = Image.fromarray(np.full((200, 320), 0x8000, np.uint16))
    assert set(read_picture(saved(deep, "PNG"), "a.png").pixels.ravel()) == {0x80}


@pytest.mark.parametrize(("form", "edge"), [("JPEG", 800), ("PNG", 800)])
def test_large_pictures_are_read_reduced_but_know_their_size(form, edge):
    reading = read_picture(saved(picture(3200, 2000), form), "a")
    assert reading.pixels.shape == (500, edge, 3)
    assert (reading.facts.width, reading.facts.height) == (3200, 2000)


# Exif 2.3, tag 0x0112: 1 upright, 3 half turn, 6 turn right, 8 turn left to see it upright.
@pytest.mark.parametrize(
    ("orientation", "size", "darkest"),
    [
        (1, (320, 200), "left"),
        (3, (320, 200), "right"),
        (6, (200, 320), "top"),
        (8, (200, 320), "bottom"),
        (99, (320, 200), "left"),
    ],
)
def test_pictures_are_turned_upright(orientation, size, darkest):
    reading = read_picture(with_exif({}, orientation), "a.jpg")
    assert (reading.facts.width, reading.facts.height) == size
    assert reading.pixels.shape[:2] == size[::-1]
    sides = {
        "left": reading.pixels[:, :20],
        "right": reading.pixels[:, -20:],
        "top": reading.pixels[:20],
        "bottom": reading.pixels[-20:],
    }
    assert min(sides, key=lambda side: sides[side].mean()) == darkest


def test_settings_and_clock_are_read():
    reading = read_picture(
        with_exif(
            {
                EXPOSURE_TIME: IFDRational(1, 125),
                F_NUMBER: IFDRational(56, 10),
                ISO: 400,
                FOCAL_LENGTH: IFDRational(50, 1),
                EXPOSURE_MODE: 1,
                WHITE_BALANCE: 0,
                TAKEN: "2026:03:02 15:55:55",
                SUBSECOND: "25",
                OFFSET: "+01:00",
            }
        ),
        "a.jpg",
    )
    assert reading.facts.settings == Settings(
        iso=400,
        shutter=pytest.approx(0.008),
        aperture=pytest.approx(5.6),
        focal_length=50,
        white_balance_auto=True,
        exposure_auto=False,
    )
    assert reading.facts.taken == datetime(2026, 3, 2, 15, 55, 55, 250_000)
    assert reading.facts.utc_offset == timedelta(hours=1)


# Exif Annex C: Av = 2 log2 N, Tv = -log2 t; so f/8 and 1 s are Av 6 and Tv 0 (EV 6), f/2 is Av 2,
# and 1/125 s is 7 as the tables round it, 6.966 as cameras write it.
@pytest.mark.parametrize(
    ("time", "aperture", "shutter", "number"),
    [
        (IFDRational(0, 1), IFDRational(6, 1), 1, 8),
        (IFDRational(1, 1), IFDRational(2, 1), 0.5, 2),
        (IFDRational(6_965_784, 1_000_000), IFDRational(4_970_854, 1_000_000), 0.008, 5.6),
        (7.0, 5.0, 1 / 128, 5.657),
    ],
)
def test_settings_written_as_apex_values_are_read(time, aperture, shutter, number):
    found = read_picture(with_exif({SHUTTER_APEX: time, APERTURE_APEX: aperture}), "a.jpg")
    assert found.facts.settings.shutter == pytest.approx(shutter, rel=1e-4)
    assert found.facts.settings.aperture == pytest.approx(number, rel=1e-4)


def test_a_long_exposure_has_a_negative_apex_value():
    found = read_picture(with_exif({SHUTTER_APEX: IFDRational(-1, 1)}), "a.jpg")
    assert found.facts.settings.shutter == 2


@pytest.mark.parametrize(
    "fields",
    [
        {EXPOSURE_TIME: IFDRational(1, 0)},
        {F_NUMBER: "wide", ISO: -3, FOCAL_LENGTH: 0.0},
        {TAKEN: "0000:00:00 00:00:00"},
        {TAKEN: "2026:13:45 99:99:99", SUBSECOND: "x", OFFSET: "later"},
        {TAKEN: "<script>alert(1)</script>"},
        {WHITE_BALANCE: 7, EXPOSURE_MODE: 9},
        {SHUTTER_APEX: IFDRational(9_000, 1), APERTURE_APEX: "wide"},
    ],
)
def test_exif_that_makes_no_sense_is_nothing(fields):
    facts = read_picture(with_exif(fields), "a.jpg").facts
    assert facts.settings == Settings()
    assert facts.taken is None


def test_broken_exif_does_not_spoil_the_picture():
    junk = b"Exif\x00\x00MM\x00*\xff\xff\xff\xff" + bytes(range(200))
    facts = read_picture(saved(picture(), exif=junk), "a.jpg").facts
    assert facts.settings == Settings()


def test_the_hash_is_of_the_whole_file(tmp_path):
    path = tmp_path / "P0001.png"
    path.write_bytes(saved(Image.new("RGB", (200, 200)), "PNG").getvalue())
    facts = read_picture(path).facts
    assert facts.name == "P0001.png"
    assert facts.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
