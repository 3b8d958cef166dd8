"""Takes in a storyboard picture somebody uploaded: decoded before it is kept, then drawn anew.

Nothing of the upload itself is stored: not its name, its hidden data, nor bytes after the picture.
"""

import io
import warnings

from PIL import Image, ImageOps

LONG_EDGE = 1600  # px; a frame of a storyboard on a large screen
LARGEST_PIXELS = 64_000_000
READABLE = ("JPEG", "PNG", "WEBP", "GIF", "TIFF", "BMP")
QUALITY = 88  # JPEG; pencil lines stay clean


class StoryboardError(ValueError):
    """A file that cannot be a storyboard picture; the message says why and how to mend it."""


def as_jpeg(content: bytes, largest_bytes: int) -> bytes:
    """The picture as a JPEG of at most LONG_EDGE px, turned upright, on white.

    Raises StoryboardError for an empty, too large, truncated or unreadable file.
    """
    if not content:
        raise StoryboardError("The file is empty, 0 bytes. Choose the picture again.")
    if len(content) > largest_bytes:
        raise StoryboardError(
            f"The file has {len(content) / 1e6:.1f} MB and {largest_bytes / 1e6:.0f} MB fit. "
            "Save the picture smaller."
        )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # odd metadata, and sizes that are refused below
            with Image.open(io.BytesIO(content), formats=READABLE) as picture:
                _check_size(picture)
                return _drawn_anew(picture)
    except StoryboardError:
        raise
    except Image.DecompressionBombError as error:
        raise StoryboardError(_too_many_pixels("far more")) from error
    # Pillow's readers raise all of these for damaged files.
    except (OSError, ValueError, SyntaxError, EOFError, IndexError, KeyError, TypeError) as error:
        raise StoryboardError(
            "This is not a whole picture: it is damaged, cut short, or another kind of file. "
            f"Choose a {', '.join(READABLE[:-1])} or {READABLE[-1]} picture."
        ) from error


def _check_size(picture: Image.Image) -> None:
    width, height = picture.size
    if width * height > LARGEST_PIXELS:
        raise StoryboardError(_too_many_pixels(f"{width} × {height}"))


def _too_many_pixels(got: str) -> str:
    return (
        f"The picture has {got} pixels and {LARGEST_PIXELS // 1_000_000} million fit. "
        "Save it smaller."
    )


def _drawn_anew(picture: Image.Image) -> bytes:
    picture.draft("RGB", (LONG_EDGE, LONG_EDGE))
    upright = ImageOps.exif_transpose(picture)
    upright.thumbnail((LONG_EDGE, LONG_EDGE))
    inked = upright.convert("RGBA")
    page = Image.new("RGB", inked.size, "white")
    page.paste(inked, mask=inked.getchannel("A"))
    out = io.BytesIO()
    page.save(out, "JPEG", quality=QUALITY)
    return out.getvalue()
