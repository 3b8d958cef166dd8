"""The delivery check of one file: measured, hashed, judged."""

import hashlib
import stat
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from clients.reading.film import CheckStopped, FileRefused, measure, never, unheard
from clients.trade.checks.judge import judge_film
from clients.trade.checks.result import FileReport
from clients.trade.specification import CaptionsWanted, Specification

HASHED_AT_ONCE = 1 << 20
"""bytes"""
HASHING_SHARE = 0.05
"""of the progress bar"""
LARGEST_CAPTIONS = 5_000_000
"""bytes: a feature film's captions are some 100,000"""


def check_file(
    path: Path,
    specification: Specification,
    progress: Callable[[float], None] = unheard,
    stop: Callable[[], bool] = never,
    captions: Path | None = None,
) -> FileReport:
    """Checks the file at ``path`` against ``specification`` in one pass.

    ``progress`` is told a share from 0 to 1, ``stop`` asked between packets. ``captions`` names
    the captions file; left out, it is looked for beside the film.

    Raises FileRefused when the check could not be done and CheckStopped when it was stopped.
    """
    _refuse_irregular(path)
    digest = sha256(path, stop)
    progress(HASHING_SHARE)
    film = measure(
        path,
        specification,
        lambda done: progress(HASHING_SHARE + (1 - HASHING_SHARE) * done),
        stop,
    )
    if specification.captions is not None:
        captions = captions or captions_beside(path, specification.captions)
        film = replace(film, captions_name=captions.name, captions_text=_read_text(captions))
    progress(1.0)
    return FileReport(str(path), digest, judge_film(film, specification))


def sha256(path: Path, stop: Callable[[], bool] = never) -> str:
    """Hex SHA-256 of the file, read in pieces. Raises FileRefused and CheckStopped."""
    digest = hashlib.sha256()
    try:
        with path.open("rb") as file:
            while piece := file.read(HASHED_AT_ONCE):
                if stop():
                    raise CheckStopped
                digest.update(piece)
    except PermissionError:
        raise FileRefused("The file may not be read; change its permissions.") from None
    except OSError as fault:
        raise FileRefused(f"The file cannot be read: {fault.strerror}.") from None
    return digest.hexdigest()


def _refuse_irregular(path: Path) -> None:
    """A pipe or a device would make the check wait for ever."""
    try:
        mode = path.stat().st_mode
    except FileNotFoundError:
        raise FileRefused("There is no such file; check the path.") from None
    except (OSError, ValueError) as fault:
        reason = getattr(fault, "strerror", None) or str(fault)
        raise FileRefused(f"The path cannot be used: {reason}.") from None
    if stat.S_ISDIR(mode):
        raise FileRefused("This is a folder; give the path of one file.")
    if not stat.S_ISREG(mode):
        raise FileRefused("This is not an ordinary file; copy the film to a disk first.")


def captions_beside(path: Path, wanted: CaptionsWanted) -> Path:
    """The file named in the specification, or the film's own name with .srt or .vtt."""
    if wanted.file:
        return path.with_name(wanted.file)
    extensions = {"srt": [".srt"], "webvtt": [".vtt"]}.get(wanted.kind, [".srt", ".vtt"])
    candidates = [path.with_suffix(extension) for extension in extensions]
    return next((file for file in candidates if file.is_file()), candidates[0])


def _read_text(path: Path) -> str | None:
    """The captions, or None when there are none. Raises FileRefused when they are not text."""
    if not path.is_file():
        return None
    try:
        if path.stat().st_size > LARGEST_CAPTIONS:
            raise FileRefused(f"The captions file {path.name} is too large to be captions.")
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise FileRefused(f"Save the captions file {path.name} as UTF-8 text.") from None
    except OSError as fault:
        raise FileRefused(f"The captions file cannot be read: {fault.strerror}.") from None
