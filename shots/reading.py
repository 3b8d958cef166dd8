"""Open a picture file and hand back what the trade can judge: pixels, size, settings, clock, hash.

Files come from cameras, phones and strangers. Nothing in them is believed: sizes are checked before
anything is decoded, Exif is read field by field, and whatever cannot be read becomes `None`.
"""

import hashlib
import math
import re
import warnings
from dataclasses import dataclass
from datetime import datetime, timedelta
from io import BytesIO
from pathlib import Path
from typing import IO

import numpy as np
from PIL import ExifTags, Image

from shots.trade.pictures import Facts, Settings

# What Pillow warns of, sizes and broken Exif, is judged here. Once for all: turning warnings off
# and on again is not safe while several pictures are read at once.
warnings.filterwarnings("ignore", module=r"PIL\.")

LONG_EDGE = 640  # px; enough to judge a picture, and the reduced decode is the quickest way there
SMALLEST_EDGE = 128  # px
LARGEST_PIXELS = 64_000_000  # a sensor sold as 60 megapixels gives a few more
LARGEST_FILE = 250_000_000  # bytes
ACCEPTED = {"JPEG", "MPO", "PNG"}  # MPO: a JPEG with more pictures behind it, as phones write
REDUCTIONS = (8, 4, 2)  # libjpeg decodes to these fractions straight from the DCT
MOST_APEX = 30  # 2 ** 30 s and 2 ** -30 s are no exposures

# Turn for each Exif orientation 2 to 8 (Exif tag 0x0112).
TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
SIDEWAYS = {5, 6, 7, 8}


class PictureError(ValueError):
    """A file that cannot be used as a picture; the message is one plain sentence for a person."""


@dataclass(frozen=True)
class Reading:
    """One picture file, opened.

    `pixels` is uint8, shape (height, width, 3), sRGB, turned upright, usually reduced;
    `facts` holds the full size, the hash and what the camera wrote.
    """

    pixels: np.ndarray
    facts: Facts


def read_picture(source: Path | str | IO[bytes], name: str = "") -> Reading:
    """Read a JPEG or PNG of at most 64 megapixels.

    `name` is how the picture is called in reports; a path's own file name when left out.
    Raises PictureError when the file is empty, truncated, too large, too small, animated, or no
    JPEG or PNG.
    """
    name = name or Path(getattr(source, "name", None) or source).name
    data = _read_bytes(source, name)
    image = _open(data, name)
    exif = _exif(image)
    orientation = exif.get(ExifTags.Base.Orientation)
    width, height = image.size
    if orientation in SIDEWAYS:
        width, height = height, width
    pixels = _decode(image, orientation, name)
    taken, offset = _clock(exif)
    return Reading(
        pixels=pixels,
        facts=Facts(
            name=name,
            sha256=hashlib.sha256(data).hexdigest(),
            width=width,
            height=height,
            settings=_settings(exif),
            taken=taken,
            utc_offset=offset,
        ),
    )


def _read_bytes(source: Path | str | IO[bytes], name: str) -> bytes:
    try:
        if hasattr(source, "read"):
            data = source.read(LARGEST_FILE + 1)
        else:
            path = Path(source)
            if not path.is_file():
                raise PictureError(f"{name} is not a file.")
            with path.open("rb") as file:
                data = file.read(LARGEST_FILE + 1)
    except OSError as error:
        raise PictureError(f"{name} could not be read: {error.strerror or error}.") from error
    if not data:
        raise PictureError(f"{name} is empty (0 bytes): copy it from the card again.")
    if len(data) > LARGEST_FILE:
        raise PictureError(f"{name} is over {LARGEST_FILE // 1_000_000} MB: save it smaller.")
    return data


def _open(data: bytes, name: str) -> Image.Image:
    """Read the header only, and refuse by it."""
    try:
        image = Image.open(BytesIO(data))
    except Image.DecompressionBombError as error:
        raise PictureError(_too_large(name)) from error
    except Exception as error:  # a damaged header can raise nearly anything inside a decoder
        raise PictureError(f"{name} is not a picture: use JPEG or PNG.") from error
    width, height = image.size
    if image.format not in ACCEPTED:
        raise PictureError(f"{name} is a {image.format} file: use JPEG or PNG.")
    if width * height > LARGEST_PIXELS:
        raise PictureError(_too_large(name, f" ({width} × {height})"))
    if min(width, height) < SMALLEST_EDGE:
        raise PictureError(
            f"{name} is {width} × {height}: too small to judge, {SMALLEST_EDGE} px at least."
        )
    if image.format == "PNG" and getattr(image, "n_frames", 1) > 1:
        raise PictureError(f"{name} is animated: give one still per file.")
    return image


def _too_large(name: str, size: str = "") -> str:
    return f"{name} is too large{size}: {LARGEST_PIXELS // 1_000_000} megapixels at most."


def _decode(image: Image.Image, orientation: int | None, name: str) -> np.ndarray:
    """Decode as small as can be judged, upright, as 8-bit RGB."""
    long_edge = max(image.size)
    reduction = next((r for r in REDUCTIONS if long_edge / r >= LONG_EDGE), 1)
    try:
        if image.format != "PNG":
            # Pillow picks the largest reduction that still covers the size asked for.
            image.draft("RGB", tuple(edge // reduction for edge in image.size))
        image.load()
    except MemoryError as error:
        raise PictureError(f"{name} needs more memory than there is.") from error
    except Exception as error:  # a damaged body can raise nearly anything inside a decoder
        raise PictureError(
            f"{name} is damaged or cut short: copy it from the card again."
        ) from error
    if image.format == "PNG" and reduction > 1:
        image = _eight_bit(image).reduce(reduction)
    else:
        image = _eight_bit(image)
    if orientation in TURNS:
        image = image.transpose(TURNS[orientation])
    return np.asarray(image)


def _eight_bit(image: Image.Image) -> Image.Image:
    if image.mode.startswith("I"):  # 16-bit grey: keep the upper byte
        grey = np.asarray(image).astype(np.int64) >> 8
        return Image.fromarray(grey.clip(0, 255).astype(np.uint8)).convert("RGB")
    return image if image.mode == "RGB" else image.convert("RGB")


def _exif(image: Image.Image) -> dict:
    """All Exif fields in one dictionary; empty when there are none or they are broken."""
    try:
        exif = image.getexif()
        return {**exif, **exif.get_ifd(ExifTags.IFD.Exif)}
    except Exception:  # broken Exif can raise nearly anything, and never spoils the picture
        return {}


def _settings(exif: dict) -> Settings:
    return Settings(
        iso=_positive(exif.get(ExifTags.Base.ISOSpeedRatings)),
        shutter=_positive(exif.get(ExifTags.Base.ExposureTime))
        or _from_apex(exif.get(ExifTags.Base.ShutterSpeedValue), -1),
        aperture=_positive(exif.get(ExifTags.Base.FNumber))
        or _from_apex(exif.get(ExifTags.Base.ApertureValue), 0.5),
        focal_length=_positive(exif.get(ExifTags.Base.FocalLength)),
        white_balance_auto=_is_auto(exif.get(ExifTags.Base.WhiteBalance)),
        exposure_auto=_is_auto(exif.get(ExifTags.Base.ExposureMode)),
    )


def _from_apex(value: object, steps: float) -> float | None:
    """Seconds or f-number from the APEX value some cameras write instead (Exif, Annex C): the time
    is 2 ** -Tv, the f-number 2 ** (Av / 2)."""
    number = _number(value)
    return None if number is None or abs(number) > MOST_APEX else 2 ** (steps * number)


def _positive(value: object) -> float | None:
    """A finite number above nought, or nothing."""
    number = _number(value)
    return number if number is not None and number > 0 else None


def _number(value: object) -> float | None:
    """A finite number, or nothing."""
    if isinstance(value, tuple) and value:
        value = value[0]
    try:
        number = float(value)
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    return number if math.isfinite(number) else None


def _is_auto(value: object) -> bool | None:
    """Exif WhiteBalance and ExposureMode: 0 auto, 1 manual; a bracket (2) is set by the camera."""
    return {0: True, 1: False, 2: True}.get(value) if isinstance(value, int) else None


def _clock(exif: dict) -> tuple[datetime | None, timedelta | None]:
    """When the picture was taken by the camera's own clock, and that clock's offset from UTC."""
    text = _text(exif.get(ExifTags.Base.DateTimeOriginal))
    match = re.fullmatch(r"(\d{4})[:-](\d\d)[:-](\d\d)[ T](\d\d):(\d\d):(\d\d)", text)
    if not match:
        return None, None
    try:
        taken = datetime(*map(int, match.groups()))  # noqa: DTZ001 - the camera knows no zone
    except ValueError:
        return None, None
    fraction = re.fullmatch(r"(\d{1,6})\d*", _text(exif.get(ExifTags.Base.SubsecTimeOriginal)))
    if fraction:
        taken += timedelta(seconds=float(f"0.{fraction[1]}"))
    return taken, _offset(_text(exif.get(ExifTags.Base.OffsetTimeOriginal)))


def _offset(text: str) -> timedelta | None:
    match = re.fullmatch(r"([+-])(\d\d):(\d\d)", text)
    if not match:
        return None
    offset = timedelta(hours=int(match[2]), minutes=int(match[3]))
    return -offset if match[1] == "-" else offset


def _text(value: object) -> str:
    if isinstance(value, bytes):
        value = value.decode("ascii", "ignore")
    return value.strip(" \0") if isinstance(value, str) else ""
