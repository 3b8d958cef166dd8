"""A picture file decoded and measured, ready to be kept. No database, so any core may do it."""

import hashlib
import multiprocessing
import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from shots.reading import PictureError, read_picture
from shots.thumbnail import thumbnail
from shots.trade.picture_record import brightness, shown_name
from shots.trade.pictures import Measure, measure

FEWEST_EACH = 12  # pictures a process must get to be worth starting


@dataclass(frozen=True)
class Prepared:
    """What will be kept of a picture file; nothing is stored yet."""

    measure: Measure
    thumbnail: bytes
    brightness: float


def prepare(source: Path | IO[bytes], name: str = "") -> Prepared:
    """Decode and measure one file.

    Raises PictureError with a sentence for a file that cannot be used.
    """
    name = shown_name(name or Path(source).name)
    reading = read_picture(source, name)
    measured = measure(reading.pixels, reading.facts)
    return Prepared(measured, thumbnail(reading.pixels), brightness(measured))


def prepare_files(paths: Sequence[Path], processes: int | None = None) -> Iterator[Prepared | str]:
    """Each file in order, prepared on all cores; a sentence in the place of one that cannot be."""
    # Starting another process takes longer than a handful of pictures.
    processes = min(processes or os.cpu_count() or 1, len(paths) // FEWEST_EACH)
    if processes < 2:
        yield from map(_prepare_or_say, paths)
        return
    # Spawn starts processes alike on every system.
    with multiprocessing.get_context("spawn").Pool(processes) as pool:
        yield from pool.imap(_prepare_or_say, paths, chunksize=4)


def _prepare_or_say(path: Path) -> Prepared | str:
    try:
        return prepare(path)
    except PictureError as error:
        return str(error)


def file_hash(path: Path) -> str | None:
    """SHA-256 of a file in hexadecimal; None where it cannot be read."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return None
