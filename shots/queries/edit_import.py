"""A later edit beside the film as it stands, in frames, pictures and days."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from shots.models import Difficulty, Production, Shot
from shots.queries.call_sheet_proposal import DayPace, day_pace
from shots.queries.history import histories
from shots.trade.budget import BudgetError, pictures_needed
from shots.trade.edit_list import EditChange, EditComparison, EditedShot, compare
from shots.trade.shot_codes import LONGEST_CODE
from studio.models import Studio


@dataclass(frozen=True)
class Row:
    """One difference. `obstacle` says why it cannot be taken over by itself; `note` what else
    taking it over does. `pictures` and `days` count what is left to shoot."""

    kind: str
    change: EditChange
    shot: Shot | None
    pictures: int
    days: float
    note: str = ""
    obstacle: str = ""

    @property
    def key(self) -> str:
        """Names this very change: another length on either side is another key."""
        return f"{self.change.code}:{self.change.before or 0}:{self.change.after or 0}"


@dataclass(frozen=True)
class EditPage:
    """What taking over an edit would change."""

    comparison: EditComparison
    rows: tuple[Row, ...]

    @property
    def pictures(self) -> int:
        return sum(row.pictures for row in self.rows)

    @property
    def days(self) -> float:
        return sum(row.days for row in self.rows)

    @property
    def sentence(self) -> str:
        """What taking over everything comes to."""
        if not self.rows:
            return "The edit has the same shots at the same lengths."
        frames = self.comparison.frames
        length = f"{'gains' if frames > 0 else 'loses'} {abs(frames)} frames"
        return (
            f"The film {length if frames else 'keeps its length'}: {abs(self.pictures)} pictures "
            f"{'fewer' if self.pictures < 0 else 'more'} to take, about {abs(self.days):.1f} days "
            "of animating at even chance, set-up time apart."
        )


KINDS = (
    ("grew", "Grew"),
    ("shrank", "Shrank"),
    ("appeared", "Appeared"),
    ("went", "Went"),
)


def with_codes(edit: Sequence[EditedShot]) -> tuple[EditedShot, ...]:
    """The edit under codes a shot may carry: other characters become hyphens."""
    return tuple(replace(shot, code=_code(shot.code)) for shot in edit)


def _code(name: str) -> str:
    code = re.sub(r"[^A-Za-z0-9_-]+", "-", name).strip("-_")[:LONGEST_CODE]
    return code or "clip"


def edit_page(
    production: Production,
    edit: Sequence[EditedShot],
    difficulty: Difficulty | None,
    studio: Studio,
    today: date,
) -> EditPage:
    """The edit beside the shots in the film; new shots count as of `difficulty`.

    Raises ValueError for a code that stands twice.
    """
    rows = production.shots.in_film().with_counts().select_related("difficulty")
    shots = {shot.code.casefold(): shot for shot in rows}
    there = [EditedShot(shot.code, shot.screen_frames) for shot in shots.values()]
    comparison = compare(there, edit)
    pace = day_pace(histories([production], studio, today)[production.pk])
    hours = float(studio.hours_per_day)
    return EditPage(
        comparison,
        tuple(
            _row(
                kind, change, shots.get(change.code.casefold()), production, difficulty, pace, hours
            )
            for kind, _ in KINDS
            for change in getattr(comparison, kind)
        ),
    )


def _row(kind, change, shot, production, difficulty, pace: DayPace, hours_per_day: float) -> Row:
    note = obstacle = ""
    if kind == "appeared":
        pictures = pictures_needed(change.after, production.exposure)
        speed = pace.pictures_per_hour.get(
            difficulty.name if difficulty else "",
            float(difficulty.pictures_per_hour) if difficulty else 1.0,
        )
        if difficulty is None:
            obstacle = "Add a difficulty to the floor’s lists first."
    elif kind == "went":
        pictures, speed = -shot.pictures_left, pace.of(shot)
        note = "is cut; it can be brought back"
        if shot.kept:
            note += f", {shot.kept} pictures kept of it stay counted"
    else:
        pictures, speed = 0, pace.of(shot)
        try:
            pictures = _left(shot, change.after) - shot.pictures_left
        except BudgetError as error:
            obstacle = error.sentence
        if kind == "grew" and shot.is_done and pictures:
            note = "was shot already: it is to shoot again until the new pictures are kept"
    return Row(kind, change, shot, pictures, pictures / speed / hours_per_day, note, obstacle)


def _left(shot: Shot, frames: int) -> int:
    """Pictures left were the shot this long."""
    budget = pictures_needed(
        frames,
        shot.exposure,
        handles=shot.handle_frames,
        held_frames=shot.held_frames,
        holds=shot.holds,
        reused_frames=shot.reused_frames,
    )
    return 0 if shot.is_done and budget <= shot.kept else max(budget - shot.kept, 0)
