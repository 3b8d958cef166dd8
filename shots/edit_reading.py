"""Opens an edit file and reads its picture track as shots in order, with lengths in frames."""

import multiprocessing
from dataclasses import dataclass
from fractions import Fraction
from math import floor, isfinite
from multiprocessing.connection import Connection
from pathlib import Path

import opentimelineio as otio

from shots.trade.edit_list import EditedShot
from studio.trade.timecode import rate_label

SLOWED = Fraction(1000, 1001)
SLOWEST_RATE, FASTEST_RATE = 1, 1_000_000  # a second; lengths may count samples of sound
DEEPEST_NESTING = 20
LONGEST_READING = 60  # seconds; a feature's edit takes a few


class EditError(ValueError):
    """A file that is no usable edit; the message says why and how to mend it."""


@dataclass(frozen=True)
class Edit:
    """Shots in film order, and sentences about all that was not plain."""

    shots: tuple[EditedShot, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class _Piece:
    """A clip, or a gap without name, and how long it lasts."""

    name: str | None
    duration: otio.opentime.RationalTime


def readable_suffixes() -> tuple[str, ...]:
    """File endings that can be opened here, such as "otio"."""
    return tuple(sorted(otio.adapters.suffixes_with_defined_adapters(read=True)))


def read_edit_apart(path: Path, rate: Fraction) -> Edit:
    """As `read_edit`, in a process of its own. Raises EditError.

    OpenTimelineIO reads in C++, and some damaged files end the process they are read in: that must
    not be the one that serves the studio.
    """
    apart = multiprocessing.get_context("spawn")
    here, there = apart.Pipe(duplex=False)
    reader = apart.Process(target=_send_edit, args=(there, path, rate), daemon=True)
    reader.start()
    there.close()
    try:
        answer = here.recv() if here.poll(LONGEST_READING) else None
    except EOFError:  # it ended without a word
        answer = None
    finally:
        reader.kill()
        reader.join()
        here.close()
    if answer is None:
        raise EditError(f"{path.name} could not be read as an edit; export it again.")
    if isinstance(answer, EditError):
        raise answer
    return answer


def _send_edit(to: Connection, path: Path, rate: Fraction) -> None:
    try:
        to.send(read_edit(path, rate))
    except EditError as error:
        to.send(error)


def read_edit(path: Path, rate: Fraction) -> Edit:
    """The edit's shots at the production's frame rate. Raises EditError.

    Tracks are flattened as they are seen, nested edits opened. A clip met again under the same
    name lengthens its shot. Cuts at another rate are rounded where they fall in time, so that
    the film's length stays within half a frame; 1000/1001 forms count frame for frame.
    """
    timeline = _open(path)
    notes: list[str] = []
    try:
        pieces = [
            piece
            for track in _flattened(timeline.video_tracks(), notes)
            for piece in _pieces(track, notes, DEEPEST_NESTING)
        ]
    except otio.exceptions.OTIOError as error:
        raise EditError(
            f"The tracks of {path.name} could not be laid over each other ({error}); flatten the "
            "edit to one picture track and export it again."
        ) from error
    if not any(piece.name is not None for piece in pieces):
        raise EditError(
            f"{path.name} has no clip with a length on a picture track; export the edit again "
            "with its picture track."
        )
    return _measured(pieces, rate, notes)


def _open(path: Path) -> otio.schema.Timeline:
    if path.suffix.lstrip(".").lower() not in readable_suffixes():
        raise EditError(
            f"{path.name} is not an edit that can be read here; export it as "
            f"{', '.join(f'.{suffix}' for suffix in readable_suffixes())}."
        )
    try:
        timeline = otio.adapters.read_from_file(str(path))
    except Exception as error:  # adapters raise whatever their parser does
        raise EditError(f"{path.name} could not be read as an edit; export it again.") from error
    if not isinstance(timeline, otio.schema.Timeline):
        raise EditError(
            f"{path.name} holds {type(timeline).__name__} and not one edit; export a single one."
        )
    return timeline


def _flattened(tracks: list, notes: list[str]) -> list[otio.schema.Track]:
    """One track as it is seen, or none. Clips without a length would stop the flattening."""
    tracks = [track for track in tracks if track.enabled and len(track)]
    for track in tracks:
        for item in list(track):
            if isinstance(item, otio.schema.Clip) and _duration(item) is None:
                notes.append(f"Clip “{item.name}” has no length and was left out.")
                track.remove(item)
    return [otio.algorithms.flatten_stack(tracks)] if len(tracks) > 1 else tracks


def _pieces(track: otio.schema.Track, notes: list[str], depth: int) -> list[_Piece]:
    if depth == 0:
        raise EditError(
            f"The edit nests more than {DEEPEST_NESTING} deep; flatten it before exporting."
        )
    pieces = []
    for item in track:
        if isinstance(item, otio.schema.Transition):
            notes.append("A transition was left out: shots are measured up to its cut.")
        elif isinstance(item, otio.schema.Stack | otio.schema.Track):
            name = item.name or "An edit inside the edit"
            notes.append(f"“{name}” is nested: its shots were taken one by one.")
            pieces += _nested(item, notes, depth - 1)
        elif duration := _duration(item):
            is_clip = isinstance(item, otio.schema.Clip)
            pieces.append(_Piece(_code(item.name) if is_clip else None, duration))
    return pieces


def _nested(item, notes: list[str], depth: int) -> list[_Piece]:
    if isinstance(item, otio.schema.Track):
        inner = _flattened([item], notes)
    else:
        # A clip straight on a stack lies on a track of its own.
        layers = [
            child if isinstance(child, otio.schema.Track) else _on_a_track(child) for child in item
        ]
        inner = _flattened(layers, notes)
    pieces = []
    for track in inner:
        if item.source_range is not None:
            track = otio.algorithms.track_trimmed_to_range(track, item.source_range)
        pieces += _pieces(track, notes, depth)
    return pieces


def _on_a_track(item) -> otio.schema.Track:
    return otio.schema.Track(children=[item.deepcopy()])


def _duration(item: otio.core.Item) -> otio.opentime.RationalTime | None:
    try:
        duration = item.trimmed_range().duration
    except otio.exceptions.OTIOError:  # neither cut in the edit nor known from its file
        return None
    usable = isfinite(duration.value) and SLOWEST_RATE <= duration.rate <= FASTEST_RATE
    return duration if usable and duration.value > 0 else None


def _code(name: str) -> str:
    """A clip's name without the ending of its file."""
    stem, dot, ending = name.strip().rpartition(".")
    return stem if dot and stem and ending.isalnum() and len(ending) <= 5 else name.strip()


def _measured(pieces: list[_Piece], rate: Fraction, notes: list[str]) -> Edit:
    lengths: dict[str, int] = {}
    other_rates = set()
    time, cut = Fraction(0), 0
    for number, piece in enumerate(pieces, start=1):
        theirs = _exact(piece.duration.rate)
        frames = Fraction(piece.duration.value).limit_denominator(1000)
        if theirs != rate:
            other_rates.add(theirs)
        if theirs not in (rate, rate * SLOWED, rate / SLOWED):
            frames = frames * rate / theirs
        time += frames
        before, cut = cut, floor(time + Fraction(1, 2))
        if piece.name is None:
            if cut > before:
                notes.append(f"{cut - before} frames of the edit are empty and belong to no shot.")
            continue
        name = piece.name or f"Clip {number}"
        if not piece.name:
            notes.append(f"The clip at place {number} has no name: it is called “{name}” here.")
        if cut == before:
            notes.append(f"“{name}” is shorter than half a frame and was left out.")
            continue
        if name in lengths:
            notes.append(f"“{name}” comes more than once: its lengths are added up.")
        lengths[name] = lengths.get(name, 0) + cut - before
    for theirs in sorted(other_rates):
        notes.append(
            f"The edit runs at {rate_label(theirs)} frames a second, the production at "
            f"{rate_label(rate)}: lengths were converted."
        )
    shots = tuple(EditedShot(name, frames) for name, frames in lengths.items())
    return Edit(shots, tuple(dict.fromkeys(notes)))


def _exact(rate: float) -> Fraction:
    """The fraction a rate in floating point stands for: 23.976... is 24000/1001."""
    whole = Fraction(round(rate))
    slowed = Fraction(round(rate * 1.001)) * SLOWED
    if abs(rate - slowed) < 0.001 and rate != whole:
        return slowed
    return Fraction(rate).limit_denominator(1001)
