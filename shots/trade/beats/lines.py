"""Beats laid out frame by frame: the lines of an exposure sheet."""

from dataclasses import dataclass

from shots.trade.beats.reading import Beat


@dataclass(frozen=True)
class SheetLine:
    """One frame of a shot, counted from 1.

    `picture` is the picture seen, counted from 1, None where it is not known (blank paper, reuse);
    `repeat` of `repeats` is the frame's place in that picture's exposure. `mark` is "hold",
    "reuse" or empty. `action` and `dialogue` are written where a beat begins.
    """

    frame: int
    picture: int | None = None
    repeat: int = 1
    repeats: int = 1
    mark: str = ""
    action: str = ""
    dialogue: str = ""


def sheet_lines(beats: tuple[Beat, ...], exposure: int) -> tuple[SheetLine, ...]:
    """One line per frame. The last picture of a beat takes what its frames leave over."""
    lines: list[SheetLine] = []
    picture = 0
    for beat in beats:
        words = {"dialogue" if beat.kind == "dialogue" else "action": beat.text}
        mark = beat.kind if beat.kind in ("hold", "reuse") else ""
        for repeats in _exposures(beat, exposure):
            picture += beat.pictures > 0
            for repeat in range(1, repeats + 1):
                seen = picture if beat.kind != "reuse" and picture else None
                lines.append(SheetLine(len(lines) + 1, seen, repeat, repeats, mark, **words))
                words = {}
    return tuple(lines)


def blank_lines(frames: int) -> tuple[SheetLine, ...]:
    """Lines to fill in by hand."""
    return tuple(SheetLine(frame) for frame in range(1, frames + 1))


def _exposures(beat: Beat, exposure: int) -> list[int]:
    """Frames for each picture of a beat; all of them for a beat without a picture of its own."""
    if beat.pictures <= 1:
        return [beat.frames]
    return [exposure] * (beat.pictures - 1) + [beat.frames - exposure * (beat.pictures - 1)]
