"""Small pictures made from stills: the one that is always kept, and what changed between two."""

import io

import numpy as np
from PIL import Image

LONG_EDGE = 320  # px
QUALITY = 60  # JPEG; a thumbnail is a few kB
AMPLIFIED = 6  # times; 1 % of the light becomes a visible grey


def thumbnail(pixels: np.ndarray) -> bytes:
    """A JPEG of at most 320 px from upright uint8 pixels (height, width, 3)."""
    image = Image.fromarray(pixels)
    image.thumbnail((LONG_EDGE, LONG_EDGE), Image.Resampling.BOX, reducing_gap=2.0)
    return _jpeg(image, QUALITY)


def difference(one: bytes, other: bytes) -> bytes:
    """A JPEG of what differs between two thumbnails, six times amplified: grey is the same.

    Pictures of different size are compared at the first one's size. Raises ValueError for bytes
    that are no picture.
    """
    try:
        first = Image.open(io.BytesIO(one)).convert("RGB")
        second = Image.open(io.BytesIO(other)).convert("RGB").resize(first.size)
    except OSError as error:
        raise ValueError("A thumbnail is missing or damaged.") from error
    change = np.asarray(second, np.float32) - np.asarray(first, np.float32)
    shown = np.clip(128 + AMPLIFIED * change, 0, 255).astype(np.uint8)
    return _jpeg(Image.fromarray(shown), 80)


def _jpeg(image: Image.Image, quality: int) -> bytes:
    out = io.BytesIO()
    image.save(out, "JPEG", quality=quality, optimize=True)
    return out.getvalue()
