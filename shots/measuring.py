"""A picture file decoded and measured, ready to be kept. No database, so any core may do it."""

import hashlib
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import IO, TypeVar

from shots.reading import PictureError, read_picture
from shots.thumbnail import thumbnail
from shots.trade.picture_record import brightness, shown_name
from shots.trade.pictures import Measure, measure

AT_A_TIME = 64  # pictures; so that thousands do not wait in memory
Made = TypeVar("Made")


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


def prepare_files(paths: Sequence[Path]) -> Iterator[Prepared | str]:
    """Each file in order, prepared on all cores; a sentence in the place of one that cannot be."""
    return on_all_cores(_prepare_or_say, paths)


def on_all_cores(make: Callable[[Path], Made], paths: Sequence[Path]) -> Iterator[Made]:
    """What `make` makes of each path, in order.

    In threads: decoding and arithmetic on whole arrays let each other run, and threads begin at
    once, where processes would first take longer than a shot of 40 pictures."""
    with ThreadPoolExecutor(_cores()) as pool:
        for at in range(0, len(paths), AT_A_TIME):
            yield from pool.map(make, paths[at : at + AT_A_TIME])


def _cores() -> int:
    """Cores this process may use, which can be fewer than there are."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


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


def read_again(path: Path, sha256: str) -> bytes:
    """The bytes of a file that was measured. Raises PictureError where it is another by now."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise PictureError(f"{path.name} could not be read: {error.strerror}.") from error
    if hashlib.sha256(data).hexdigest() != sha256:
        raise PictureError(f"{path.name} changed while it was read: take it in again.")
    return data
