"""Beats as an animator writes them, one a line, read into frames and pictures."""

import re
from dataclasses import dataclass
from fractions import Fraction

from shots.trade.beats.walk import Walk
from shots.trade.budget import ShotLength
from shots.trade.spacing import Move
from studio.trade.timecode import LengthError, parse_length

MOST_FRAMES = 100_000

_NUMBER = r"(\d+(?:[.,]\d+)?)"
_LENGTH = re.compile(r"(?P<length>\d[\d.,:]*\s*(?:s\s*\d+\s*f|s|f))\s*$", re.IGNORECASE)
_PICTURES = re.compile(r"\bin\s+(\d+)\s+(?:new\s+)?pictures?\b", re.IGNORECASE)
_TIME = re.compile(r"\bin\s+(\d[\d.,]*\s*(?:s\s*\d+\s*f|s|f))(?!\w)", re.IGNORECASE)
_TRAVEL = re.compile(_NUMBER + r"\s*(°|degrees?\b|deg\b|mm\b|cm\b|m\b)", re.IGNORECASE)
_STRIDE = re.compile(r"stride\s+(?:of\s+)?" + _NUMBER + r"\s*(mm|cm|m)", re.IGNORECASE)
_STEP_PICTURES = re.compile(r"(\d+)\s+(?:new\s+)?pictures?\s+a\s+step", re.IGNORECASE)
_STEP_FRAMES = re.compile(r"(\d+)\s*(?:f|frames?)\s+a\s+step", re.IGNORECASE)
_SHARE = re.compile(r"(anticipation|overshoot)\s+" + _NUMBER + r"\s*%", re.IGNORECASE)

_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0}
_EASES = {
    "even": "even",
    "ease in": "in",
    "starts gently": "in",
    "ease out": "out",
    "ends gently": "out",
    "ease both": "both",
    "ease both ends": "both",
}


class BeatError(ValueError):
    """A line that is no beat: `line` is its number from 1, the message says how to mend it."""

    def __init__(self, line: int, sentence: str):
        super().__init__(f"Line {line}: {sentence}")
        self.line = line


@dataclass(frozen=True)
class Beat:
    """One thing that happens. `kind` is "hold", "reuse", "dialogue", "walk" or "move".

    `pictures` are new ones. A measured move carries its `move`, a walk its `walk`.
    """

    text: str
    kind: str
    frames: int
    pictures: int
    move: Move | None = None
    walk: Walk | None = None


@dataclass(frozen=True)
class _Written:
    """What a line says before its pictures are counted in with the rest of the shot."""

    kind: str
    frames: int
    travel: tuple[float, str] | None = None
    manner: dict | None = None
    walk: Walk | None = None


def read_beats(text: str, rate: Fraction, exposure: int) -> tuple[Beat, ...]:
    """Read one beat a line; empty lines are skipped, and beats follow each other.

        hold 12 f
        reuse 1 s
        line of dialogue 1.8 s
        wave: raise 90° in 8 pictures, ease both ends, anticipation 10 %, overshoot 5 %
        blink in 6 f
        walk 30 cm, stride 5 cm, 4 new pictures a step, alternate feet

    Lengths are as `parse_length` reads them. A beat that gives pictures lasts that many times the
    `exposure`; one that gives time gets the pictures that time needs. Moving frames are counted
    together through the shot, as the frame budget does, so that both agree. Raises BeatError.
    """
    if exposure < 1:
        raise ValueError(f"Exposure is {exposure}; each picture is held for at least 1 frame.")
    beats = []
    moving = frames = 0
    for number, line in enumerate(text.splitlines(), start=1):
        line = line.strip()
        if not line:
            continue
        try:
            written = _read(line, rate, exposure)
            frames += written.frames
            if frames > MOST_FRAMES:
                raise ValueError(
                    f"the shot passes {MOST_FRAMES:,} frames here; check the figures or split it."
                )
            if written.kind == "hold":
                pictures = 1
            elif written.kind == "reuse":
                pictures = 0
            else:
                before = moving
                moving += written.frames
                pictures = -(-moving // exposure) - -(-before // exposure)
            move = None
            if written.travel:
                move = Move(*written.travel, pictures, **written.manner)
        except ValueError as error:
            raise BeatError(number, str(error)) from error
        beats.append(Beat(line, written.kind, written.frames, pictures, move, written.walk))
    return tuple(beats)


def length_of(beats: tuple[Beat, ...], exposure: int, handles: int = 0) -> ShotLength:
    """The shot's length as its frame budget counts it."""
    holds = [beat for beat in beats if beat.kind == "hold"]
    return ShotLength(
        screen_frames=sum(beat.frames for beat in beats),
        exposure=exposure,
        handles=handles,
        held_frames=sum(beat.frames for beat in holds),
        holds=len(holds),
        reused_frames=sum(beat.frames for beat in beats if beat.kind == "reuse"),
    )


def _read(line: str, rate: Fraction, exposure: int) -> _Written:
    head = line.split(maxsplit=1)[0].lower().rstrip(":,")
    if head in ("hold", "reuse"):
        return _Written(head, _length(line, head, rate))
    if re.match(r"(line of )?dialogue\b", line, re.IGNORECASE):
        return _Written("dialogue", _length(line, "dialogue", rate))
    if head == "walk":
        return _read_walk(line, exposure)
    return _read_move(line, rate, exposure)


def _length(line: str, kind: str, rate: Fraction) -> int:
    found = _LENGTH.search(line)
    if not found:
        raise LengthError(f"“{line}” needs a length at its end: write {kind} 12 f or {kind} 1.8 s.")
    return parse_length(found["length"], rate)


def _read_walk(line: str, exposure: int) -> _Written:
    start, *rest = _parts(line)
    distance = _TRAVEL.search(start)
    if not distance or distance[2].lower() not in _MM:
        raise ValueError(f"“{line}” needs a distance: write walk 30 cm, stride 5 cm and so on.")
    stride, pictures, first_foot = None, None, "right"
    for part in rest:
        if found := _STRIDE.fullmatch(part):
            stride = _number(found[1]) * _MM[found[2].lower()]
        elif found := _STEP_PICTURES.fullmatch(part):
            pictures = int(found[1])
        elif found := _STEP_FRAMES.fullmatch(part):
            pictures, over = divmod(int(found[1]), exposure)
            if over:
                raise ValueError(
                    f"{found[1]} frames a step do not divide by an exposure of {exposure}; "
                    f"write {(pictures + 1) * exposure} f a step, or pictures a step."
                )
        elif found := re.fullmatch(r"(left|right) foot first", part, re.IGNORECASE):
            first_foot = found[1].lower()
        elif part.lower() != "alternate feet":
            raise ValueError(
                f"“{part}” is not known in a walk; write stride 5 cm, 4 new pictures a step, "
                "12 f a step, alternate feet or left foot first."
            )
    if stride is None or pictures is None:
        raise ValueError(
            f"“{line}” needs a stride and pictures: add stride 5 cm, 4 new pictures a step."
        )
    walk = Walk(_number(distance[1]) * _MM[distance[2].lower()], stride, pictures, first_foot)
    return _Written("walk", walk.pictures * exposure, walk=walk)


def _read_move(line: str, rate: Fraction, exposure: int) -> _Written:
    _, *rest = _parts(line)
    if found := _PICTURES.search(line):
        frames = int(found[1]) * exposure
    elif found := _TIME.search(line):
        frames = parse_length(found[1], rate)
    else:
        raise ValueError(
            f"“{line}” does not say how long it takes: add in 8 pictures, or in 1.5 s."
        )
    if frames == 0:
        raise ValueError(f"“{line}” needs at least 1 picture; for a puppet that rests, use hold.")
    manner = {}
    for part in rest:
        if part.lower() in _EASES:
            manner["ease"] = _EASES[part.lower()]
        elif share := _SHARE.fullmatch(part):
            manner[share[1].lower()] = _number(share[2]) / 100
        elif not (_PICTURES.search(part) or _TIME.search(part)):
            raise ValueError(
                f"“{part}” is not known in a move; write even, ease in, ease out, ease both ends, "
                "anticipation 10 % or overshoot 5 %."
            )
    travel = _TRAVEL.search(line)
    if manner and not travel:
        raise ValueError(f"“{line}” eases, but over what? Add a distance or an angle: 40 mm, 90°.")
    return _Written("move", frames, travel=_measured(travel), manner=manner)


def _measured(travel: re.Match | None) -> tuple[float, str] | None:
    if not travel:
        return None
    unit = travel[2].lower()
    if unit in _MM:
        return _number(travel[1]) * _MM[unit], "mm"
    return _number(travel[1]), "degrees"


def _parts(line: str) -> list[str]:
    return [part.strip() for part in re.split(r",(?!\d)", line)]


def _number(digits: str) -> float:
    return float(digits.replace(",", "."))
