"""Saving what can be saved of a change of plan, and taking it back. Writes; sees no request."""

from dataclasses import dataclass

from django.db import models, transaction

from shots.models import Production, Shot
from shots.queries.what_if import Plan, not_begun, shots_left
from studio import services as house
from studio.errors import EditedMeanwhile, NotPossible


@dataclass(frozen=True)
class Saved:
    """One field of the film (`shot` None) or of a shot that was changed, as plain JSON values."""

    shot: int | None
    field: str
    before: str | int | None
    after: str | int | None


@transaction.atomic
def save_plan(production: Production, read_version: int, plan: Plan) -> list[Saved]:
    """Save the plan's deadline, exposures and cuts; what was changed, for `take_back`.

    Raises EditedMeanwhile where the production was saved since `read_version`, and NotPossible
    where a shot to cut is no longer left or the plan holds nothing that can be saved.
    """
    production = Production.objects.select_for_update().get(pk=production.pk)
    if production.version != read_version:
        raise EditedMeanwhile(production)
    left = {shot.code: shot for shot in shots_left(production)}
    gone = [code for code in plan.cut if code not in left]
    if gone:
        raise NotPossible(f"No longer left to shoot: {', '.join(gone)}. Take them out.", "cut")
    saved = []
    if plan.deadline:
        if production.start and plan.deadline < production.start:
            raise NotPossible("The deadline is before the first shooting day.", "deadline")
        saved += _change(production, None, "deadline", plan.deadline)
    for code in plan.cut:
        saved += _change(left[code], left[code].pk, "status", Shot.Status.CUT)
    if plan.exposure:
        for shot in not_begun([shot for code, shot in left.items() if code not in plan.cut]):
            saved += _change(shot, shot.pk, "exposure", plan.exposure)
    if not saved:
        raise NotPossible("Nothing would change: the film stands so already.")
    return saved


@transaction.atomic
def take_back(production: Production, saved: list[Saved]) -> None:
    """Undo a saved plan as a whole. Raises NotPossible where something changed since."""
    production = Production.objects.select_for_update().get(pk=production.pk)
    shots = production.shots.in_bulk([one.shot for one in saved if one.shot])
    for one in saved:
        row = production if one.shot is None else shots.get(one.shot)
        if row is None or _plain(getattr(row, one.field)) != one.after:
            raise NotPossible(
                f"{row or 'A shot'} was changed since. Nothing was undone: change it by hand."
            )
        before = row._meta.get_field(one.field).to_python(one.before)
        house.save_changes(row, row.version, {one.field: before})


def _change(row: models.Model, shot: int | None, field: str, value) -> list[Saved]:
    before = getattr(row, field)
    if before == value:
        return []
    house.save_changes(row, row.version, {field: value})
    return [Saved(shot, field, _plain(before), _plain(value))]


def _plain(value) -> str | int | None:
    return value if value is None or isinstance(value, int) else str(value)
