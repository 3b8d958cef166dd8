"""The file a backup is: a bag (RFC 8493) with SHA-256 sums, inside a tar (POSIX ustar).

Tar and not zip: a tar is written and read from front to back with a little memory, however many
pictures are inside, while a zip keeps a directory of all its members in memory; and a tar that
was cut short still gives up what stands before the cut. Every system can open it, and other
programs for bags can check it.

Every byte is accounted for. Contents have their sum in the manifest, the manifest in the tag
manifest, and what remains (headers, padding, the end) can be written in one way only.
"""

import hashlib
import io
import tarfile
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import IO

from studio.trade.manifest import DECLARATION, fault_of_path, manifest_line

FOLDER = "stillcount-backup"
PAYLOAD = "data/"
BAGIT, MANIFEST, TAG_MANIFEST = "bagit.txt", "manifest-sha256.txt", "tagmanifest-sha256.txt"
BLOCK = tarfile.BLOCKSIZE
END = bytes(2 * BLOCK)
PIECE = 1024 * 1024  # bytes read at once
LARGEST_TAG = 4 * 1024 * 1024  # bytes: descriptions and lists of sums of tags are small


class BagRefused(ValueError):
    """A file that is no whole backup; the message says what is wrong with it."""


def _header(path: str, size: int, mtime: int) -> bytes:
    """The only header a member may have."""
    info = tarfile.TarInfo(f"{FOLDER}/{path}")
    info.size, info.mtime, info.mode = size, mtime, 0o600
    return info.tobuf(tarfile.USTAR_FORMAT, "utf-8", "strict")


def _padding(size: int) -> int:
    return -size % BLOCK


class BagWriter:
    """Writes a bag to `out`, which need not be seekable. Use it as a context manager.

    Without an error inside the `with` the lists of sums and the end are written on leaving it.
    """

    def __init__(self, out: IO[bytes], made_at: datetime):
        self._out = out
        self._mtime = int(made_at.timestamp())
        self._tags = io.StringIO()

    def __enter__(self) -> "BagWriter":
        self._manifest = tempfile.TemporaryFile()
        self.add_tag(BAGIT, DECLARATION.encode())
        return self

    def __exit__(self, kind, error, trace) -> None:
        with self._manifest:
            if error is None:
                self._finish()

    def add(self, path: str, content: IO[bytes], size: int) -> None:
        """Add `size` bytes of `content` under `path`. Raises EOFError where there are fewer."""
        line = manifest_line(PAYLOAD + path, self._add(PAYLOAD + path, content, size))
        self._manifest.write(line.encode())

    def add_tag(self, path: str, content: bytes) -> None:
        """Add what describes the bag and is no part of what it carries."""
        self._tags.write(manifest_line(path, self._add(path, io.BytesIO(content), len(content))))

    def _finish(self) -> None:
        size = self._manifest.tell()
        self._manifest.seek(0)
        self._tags.write(manifest_line(MANIFEST, self._add(MANIFEST, self._manifest, size)))
        sums = self._tags.getvalue().encode()
        self._add(TAG_MANIFEST, io.BytesIO(sums), len(sums))
        self._out.write(END)

    def _add(self, path: str, content: IO[bytes], size: int) -> str:
        self._out.write(_header(path, size, self._mtime))
        digest = hashlib.sha256()
        left = size
        while left:
            piece = content.read(min(left, PIECE))
            if not piece:
                raise EOFError(f"{path} became shorter while it was read.")
            digest.update(piece)
            self._out.write(piece)
            left -= len(piece)
        self._out.write(bytes(_padding(size)))
        return digest.hexdigest()


@dataclass(frozen=True)
class Member:
    """One file of a bag. `content` can be read until the next member is asked for."""

    path: str
    size: int
    content: IO[bytes]

    @property
    def is_payload(self) -> bool:
        return self.path.startswith(PAYLOAD)


def read_bag(stream: IO[bytes]) -> Iterator[Member]:
    """What the bag carries and what describes it, in order, checked as it goes by.

    Only the end of the iteration says that all of it is whole. Raises BagRefused with what is
    wrong, and never holds more than a small piece of the file in memory.
    """
    with tempfile.TemporaryFile() as manifest:
        tags = io.BytesIO()
        mtime = None
        while (block := _exactly(stream, BLOCK)) != END[:BLOCK]:
            info = _read_header(block)
            mtime = info.mtime if mtime is None else mtime
            path = _checked_path(info, block, mtime)
            content = _Content(stream, info.size)
            if path == MANIFEST:
                _compare(content, manifest)
            elif path == TAG_MANIFEST:
                _compare(content, tags)
                break
            else:
                yield Member(path, info.size, content)
            content.skip_rest()
            lines = manifest if path.startswith(PAYLOAD) else tags
            lines.write(manifest_line(path, content.digest.hexdigest()).encode())
            _read_padding(stream, info.size, path)
        else:
            raise BagRefused("The backup is not whole: the list of its sums is missing.")
        _read_padding(stream, info.size, path)
    if stream.read(len(END) + 1) != END:
        raise BagRefused("The file does not end where a backup ends.")


def read_tag(member: Member) -> bytes:
    """The whole content of a small member. Raises BagRefused where it is not small."""
    if member.size > LARGEST_TAG:
        raise BagRefused(f"{member.path} is far too large: {member.size} bytes.")
    return member.content.read(member.size)


def _read_header(block: bytes) -> tarfile.TarInfo:
    try:
        return tarfile.TarInfo.frombuf(block, "utf-8", "strict")
    except (tarfile.HeaderError, UnicodeDecodeError) as error:
        raise BagRefused("This is no backup of Stillcount, or it is damaged.") from error


def _checked_path(info: tarfile.TarInfo, block: bytes, mtime: int) -> str:
    """The member's path inside the bag, if its header is the one that was written."""
    folder, _, path = info.name.partition("/")
    if folder != FOLDER:
        raise BagRefused("This is no backup of Stillcount: its folder has another name.")
    if fault := fault_of_path(path):
        raise BagRefused(f"This file was not made by Stillcount. {fault}")
    try:
        as_written = _header(path, info.size, mtime)
    except ValueError as error:
        raise BagRefused(f"{path} has an impossible header.") from error
    if as_written != block:
        raise BagRefused(f"The header of {path} is damaged, or Stillcount did not write it.")
    return path


def _exactly(stream: IO[bytes], size: int) -> bytes:
    got = stream.read(size)
    if len(got) != size:
        raise BagRefused("The file is empty or cut short: its end is missing.")
    return got


def _read_padding(stream: IO[bytes], size: int, path: str) -> None:
    if any(_exactly(stream, _padding(size))):
        raise BagRefused(f"There is something behind {path} that does not belong there.")


def _compare(listed: IO[bytes], expected: IO[bytes]) -> None:
    """Hold the sums a bag lists against those of what went by."""
    expected.seek(0)
    lines = io.BufferedReader(listed)
    for line in expected:
        if lines.readline(len(line) + 1) != line:
            path = line.decode().partition("  ")[2].strip()
            raise BagRefused(f"The backup is damaged: the sum of {path} is not the one listed.")
    if lines.read(1):
        raise BagRefused("The backup is damaged: it lists more than it has.")


class _Content(io.RawIOBase):
    """The bytes of one member and no more, summed as they are read."""

    def __init__(self, stream: IO[bytes], size: int):
        self._stream, self._left = stream, size
        self.digest = hashlib.sha256()

    def readable(self) -> bool:
        return True

    def readinto(self, buffer) -> int:
        piece = _exactly(self._stream, min(len(buffer), self._left, PIECE))
        self._left -= len(piece)
        self.digest.update(piece)
        buffer[: len(piece)] = piece
        return len(piece)

    def skip_rest(self) -> None:
        while self.read(PIECE):
            pass
