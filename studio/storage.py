"""Where kept files lie on this machine."""

from collections.abc import Iterator
from pathlib import Path
from typing import IO

from django.core.files.storage import FileSystemStorage

AT_ONCE = 1 << 16  # bytes


class WholeFiles(FileSystemStorage):
    """Keeps a file whole or not at all: what a full disk cut short is taken away again."""

    def _save(self, name: str, content) -> str:
        try:
            return super()._save(name, content)
        except OSError:
            Path(self.path(name)).unlink(missing_ok=True)
            raise

    def part(self, name: str, first: int, count: int) -> Iterator[bytes]:
        """`count` bytes of a file from byte `first` on. Raises OSError where the file is gone."""
        return _pieces(self.open(name), first, count)


def _pieces(opened: IO[bytes], first: int, left: int) -> Iterator[bytes]:
    with opened:
        opened.seek(first)
        while left and (piece := opened.read(min(AT_ONCE, left))):
            left -= len(piece)
            yield piece
