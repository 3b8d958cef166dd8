"""Which container a file is, and whether its own parts say that it was cut off.

A cut-off file often still opens and plays, so the sizes that the container writes about itself
are compared with the file before anything is decoded.
"""

import struct
from pathlib import Path
from typing import BinaryIO

# First boxes seen in ISO base media and QuickTime files (ISO/IEC 14496-12).
FIRST_BOXES = {b"ftyp", b"moov", b"mdat", b"free", b"skip", b"wide", b"pnot", b"styp", b"uuid"}
EBML = b"\x1a\x45\xdf\xa3"  # RFC 8794 11.2.1
SEGMENT = 0x18538067  # RFC 9559 5.1
DOCTYPE = 0x4282
TS_PACKET = 188

EXTENSIONS = {
    "mp4": ("mp4", "m4v"),
    "mov": ("mov", "qt"),
    "matroska": ("mkv",),
    "webm": ("webm",),
    "mxf": ("mxf",),
    "avi": ("avi",),
    "mpegts": ("ts", "mts", "m2ts"),
    "ogg": ("ogv", "ogg"),
}


class NotWhole(Exception):
    """The file is not what it claims to be; the message is a sentence for a person."""


CUT_OFF = "The file is cut off: {}. Copy or export it again."


def look_at(path: Path) -> str:
    """The container's name for kinds that describe their own length, else empty.

    Raises NotWhole for an empty file and for one shorter than its parts say.
    """
    size = path.stat().st_size
    if size == 0:
        raise NotWhole("The file is empty (0 bytes). Copy or export it again.")
    with path.open("rb") as file:
        head = file.read(16)
        if head[4:8] in FIRST_BOXES:
            return _boxes(file, size)
        if head.startswith(EBML):
            return _elements(file, size)
        if head.startswith(b"RIFF") and head[8:12] == b"AVI ":
            _riff(head, size)
            return "avi"
        if head.startswith(b"G") and size > TS_PACKET:
            return _packets(file, size)
    return ""


def _boxes(file: BinaryIO, size: int) -> str:
    """Walks the top-level boxes of an MP4 or QuickTime file."""
    name = "mov"  # QuickTime files may come without a brand
    position, kinds = 0, set()
    while position < size:
        file.seek(position)
        header = file.read(16)
        if len(header) < 8:
            raise NotWhole(CUT_OFF.format("its last part has no complete header"))
        length, kind = struct.unpack(">I4s", header[:8])
        if kind == b"ftyp":
            name = "mov" if header[8:12] == b"qt  " else "mp4"
        if length == 1 and len(header) == 16:
            length = struct.unpack(">Q", header[8:])[0]
        elif length == 0:  # the part runs to the end of the file
            length = size - position
        if length < 8:
            raise NotWhole(CUT_OFF.format(f"the part at byte {position} has an impossible size"))
        if position + length > size:
            short = position + length - size
            raise _short_by(short)
        kinds.add(kind)
        position += length
    if b"moov" not in kinds:
        raise NotWhole(CUT_OFF.format("it has no index of its frames"))
    return name


def _short_by(count: int) -> NotWhole:
    missing = "1 byte is" if count == 1 else f"{count} bytes are"
    return NotWhole(CUT_OFF.format(f"{missing} missing at its end"))


def _elements(file: BinaryIO, size: int) -> str:
    """Reads the EBML header of a Matroska or WebM file and the size of its segment."""
    file.seek(len(EBML))
    header_length = _vint(file)
    header = file.read(min(header_length or 0, 4096))
    mark = header.find(DOCTYPE.to_bytes(2, "big"))
    name = "webm" if mark >= 0 and header[mark + 3 : mark + 7] == b"webm" else "matroska"
    if int.from_bytes(file.read(4), "big") != SEGMENT:
        raise NotWhole(CUT_OFF.format("it ends before the first picture"))
    length = _vint(file)
    if length is not None and file.tell() + length > size:
        short = file.tell() + length - size
        raise _short_by(short)
    return name


def _vint(file: BinaryIO) -> int | None:
    """A variable-size integer (RFC 8794 4); None for the reserved "unknown size"."""
    first = file.read(1)
    if not first or first == b"\0":
        raise NotWhole(CUT_OFF.format("it ends inside its header"))
    extra = 8 - first[0].bit_length()
    rest = file.read(extra)
    if len(rest) < extra:
        raise NotWhole(CUT_OFF.format("it ends inside its header"))
    value = int.from_bytes(bytes([first[0] & (0x7F >> extra)]) + rest, "big")
    return None if value == (1 << (7 * (extra + 1))) - 1 else value


def _riff(head: bytes, size: int) -> None:
    short = struct.unpack("<I", head[4:8])[0] + 8 - size
    if short > 0:
        raise _short_by(short)


def _packets(file: BinaryIO, size: int) -> str:
    """A transport stream has a G every 188 bytes and ends with a whole packet."""
    file.seek(TS_PACKET)
    if file.read(1) != b"G":
        return ""
    if size % TS_PACKET:
        raise NotWhole(CUT_OFF.format("its last packet is not complete"))
    return "mpegts"
