"""Bringing a shot list in, and handing it out."""

import hashlib
from collections import Counter
from dataclasses import dataclass, replace

from django.db import transaction
from django.db.models import Q
from simple_history.utils import bulk_create_with_history

from shots.models import Difficulty, Production, Setup, Shot
from shots.services.shots import renumber
from shots.trade import shot_list
from shots.trade.budget import BudgetError
from shots.trade.shot_codes import is_code
from shots.trade.shot_list import ListedShot, ShotRow, tidy
from studio.errors import NotPossible
from studio.trade.timecode import seconds_and_frames

BATCH = 500  # rows a statement
SHOWN = 200  # rows of a plan a page can show
WRITTEN = [name for name in shot_list.READ if name != "code"]


@dataclass(frozen=True)
class Change:
    """One field of a shot the list changes, in words."""

    label: str
    before: str
    after: str


@dataclass(frozen=True)
class PlannedRow:
    """What one row of the list will become: new, changed, unchanged, or held back by errors."""

    row: ShotRow
    becomes: str
    wanted: ListedShot | None = None
    changes: tuple[Change, ...] = ()
    errors: tuple[str, ...] = ()


@dataclass(frozen=True)
class ImportPlan:
    """What a list will do to a production. `seal` stands for the whole of it."""

    rows: tuple[PlannedRow, ...]
    notes: tuple[str, ...]
    new_setups: dict[str, str]
    counts: Counter
    seal: str

    @property
    def is_clean(self) -> bool:
        return not self.counts["errors"]

    @property
    def shown(self) -> list[PlannedRow]:
        """Rows to show: the first of all, then those with errors, SHOWN of each at most."""
        errors = [row for row in self.rows[SHOWN:] if row.errors]
        return [*self.rows[:SHOWN], *errors[:SHOWN]]

    @property
    def hidden(self) -> int:
        """Rows not shown."""
        return len(self.rows) - len(self.shown)

    @property
    def good(self) -> int:
        """Rows without errors."""
        return len(self.rows) - self.counts["errors"]

    @property
    def does_something(self) -> bool:
        return bool(self.counts["new"] + self.counts["changed"])


def plan_import(production: Production, text: str) -> ImportPlan:
    """What the list would do, row by row; writes nothing. Raises ListError if it is no list."""
    listed = shot_list.read(text, production.rate)
    planner = _Planner(production)
    rows = tuple(planner.plan(row) for row in listed.rows)
    return ImportPlan(
        rows=rows,
        notes=(*listed.notes, *planner.notes()),
        new_setups=planner.new_setups,
        counts=Counter(row.becomes for row in rows),
        seal=hashlib.sha256(repr(rows).encode()).hexdigest(),
    )


class _Planner:
    """Holds what stands in the production while the rows of a list are laid against it."""

    def __init__(self, production: Production):
        self.production = production
        self.shots = {
            shot.code.casefold(): listed(shot)
            for shot in production.shots.current().select_related("setup", "difficulty")
        }
        self.difficulties = {row.name.casefold(): row.name for row in Difficulty.objects.all()}
        names = list(self.difficulties.values())
        self.usual_difficulty = names[len(names) // 2] if names else ""
        setups = setups_in_use(production)
        # A code wins over another set-up's name.
        self.setups = {setup.name.casefold(): setup.code for setup in setups}
        self.setups |= {setup.code.casefold(): setup.code for setup in setups} | {"": ""}
        self.new_setups: dict[str, str] = {}
        self.some_without_difficulty = False

    def plan(self, row: ShotRow) -> PlannedRow:
        errors = list(row.errors)
        name = self.difficulties.get((row.difficulty or self.usual_difficulty).casefold())
        if name is None:
            known = ", ".join(self.difficulties.values()) or "none yet, add them under Studio"
            errors.append(
                f"The difficulty “{row.difficulty or ''}” is not one of the studio’s: {known}."
            )
        elif row.difficulty and row.difficulty != name:
            row = replace(row, difficulty=name)
        if not errors:
            try:
                return self._laid_over(row, self.shots.get(row.code.casefold()))
            except BudgetError as error:
                errors.append(f"{shot_list.READ[error.field]}: {error.sentence}")
        return PlannedRow(row=row, becomes="errors", errors=tuple(errors))

    def _laid_over(self, row: ShotRow, standing: ListedShot | None) -> PlannedRow:
        wanted = row.over(standing or self._fresh(row))
        setup = wanted.setup if row.setup is None else self._setup_code(row.setup)
        if setup != wanted.setup:
            wanted = replace(wanted, setup=setup)
        changes = () if standing is None else self._changes(standing, wanted)
        becomes = "new" if standing is None else "changed" if changes else "unchanged"
        self.some_without_difficulty |= standing is None and not row.difficulty
        return PlannedRow(row, becomes, wanted, changes)

    def _fresh(self, row: ShotRow) -> ListedShot:
        """A new shot as it is before the list says anything about it."""
        return ListedShot(
            code=row.code, description="", setup="", difficulty=self.usual_difficulty,
            screen_frames=row.screen_frames, exposure=self.production.exposure, held_frames=0,
            holds=0, reused_frames=0, handle_frames=0, notes="",
        )  # fmt: skip

    def _changes(self, standing: ListedShot, wanted: ListedShot) -> tuple[Change, ...]:
        return tuple(
            Change(shot_list.READ[name], self._said(name, standing), self._said(name, wanted))
            for name in WRITTEN
            if getattr(standing, name) != getattr(wanted, name)
        )

    def _said(self, name: str, shot: ListedShot) -> str:
        value = getattr(shot, name)
        if name == "screen_frames":
            return seconds_and_frames(value, self.production.rate)
        return str(value) if value != "" else "(empty)"

    def _setup_code(self, text: str) -> str:
        """The code of the set-up of that code or name; a new one gets its code here."""
        code = self.setups.get(text.casefold())
        if code is None:
            code = text if is_code(text) else self._free_setup_code()
            self.setups[text.casefold()] = self.setups[code.casefold()] = code
            self.new_setups[code] = "" if code == text else text
        return code

    def _free_setup_code(self) -> str:
        number = 1
        while f"s{number:02d}" in self.setups:
            number += 1
        return f"S{number:02d}"

    def notes(self) -> list[str]:
        """What else to know before the list is taken in."""
        notes = []
        if self.new_setups:
            names = [f"{code} ({name})" if name else code for code, name in self.new_setups.items()]
            shown = ", ".join(names[:12]) + (f" and {len(names) - 12} more" if names[12:] else "")
            notes.append(f"Set-ups that will be made: {shown}.")
        if self.some_without_difficulty:
            notes.append(f"New shots without a difficulty become {self.usual_difficulty}.")
        return notes


@transaction.atomic
def import_list(production: Production, text: str, seal: str, only_good: bool) -> ImportPlan:
    """Write a list that was shown, in one transaction; `only_good` leaves rows with errors out.

    Raises ListError; NotPossible if rows have errors, or if the list would now do something else
    than what was shown under `seal`.
    """
    Production.objects.select_for_update().get(pk=production.pk)
    plan = plan_import(production, text)
    if plan.seal != seal:
        raise NotPossible(
            "The shots or the list changed since this was shown. Look at it once more."
        )
    if not plan.is_clean and not only_good:
        raise NotPossible("Some rows have errors. Correct them, or take the good rows only.")
    _write(production, plan)
    return plan


def _write(production: Production, plan: ImportPlan) -> None:
    setups = _with_new_setups(production, plan.new_setups)
    difficulties = {row.name: row for row in Difficulty.objects.all()}
    standing = list(production.shots.order_by("position", "id"))
    current = {shot.code.casefold(): shot for shot in standing if shot.archived_at is None}
    new, changed = [], []
    for planned in plan.rows:
        if planned.becomes not in ("new", "changed"):
            continue
        wanted = planned.wanted
        if planned.becomes == "new":
            shot = Shot(production=production, code=wanted.code)
            new.append(shot)
        else:
            shot = current[wanted.code.casefold()]
            shot.version += 1
            changed.append(shot)
        shot.setup = setups.get(wanted.setup)
        shot.difficulty = difficulties[wanted.difficulty]
        for name in WRITTEN:
            if name not in ("setup", "difficulty"):
                setattr(shot, name, getattr(wanted, name))
    # An upsert by key: many times quicker than bulk_update's CASE for each field.
    Shot.objects.bulk_create(
        changed, BATCH, update_conflicts=True, unique_fields=["id"],
        update_fields=[*WRITTEN, "version"],
    )  # fmt: skip
    Shot.history.bulk_history_create(changed, BATCH, update=True)
    _order(plan, standing, current, new)
    bulk_create_with_history(new, Shot, batch_size=BATCH)


def _with_new_setups(production: Production, new_setups: dict[str, str]) -> dict[str, Setup]:
    """All set-ups by code, those made that the list names and that are not there yet."""
    setups = {setup.code: setup for setup in setups_in_use(production)}
    position = max((setup.position for setup in setups.values()), default=-1)
    for n, (code, name) in enumerate(new_setups.items(), start=1):
        setups[code] = Setup.objects.create(
            production=production, code=code, name=name, position=position + n
        )
    return setups


def _order(plan: ImportPlan, standing: list[Shot], current: dict, new: list[Shot]) -> None:
    """Place each new shot after the one before it in the list; what stands keeps its order."""
    fresh = {shot.code: shot for shot in new}
    leading: list[Shot] = []
    followers: dict[int, list[Shot]] = {}
    first, run = None, leading
    for planned in plan.rows:
        shot = current.get(planned.row.code.casefold())
        if shot is not None:
            first = first or shot
            run = followers.setdefault(shot.pk, [])
        elif planned.becomes == "new":
            run.append(fresh[planned.wanted.code])
    order: list[Shot] = []
    for shot in standing:
        order += leading if shot is first else []
        order += [shot, *followers.get(shot.pk, [])]
    if first is None:
        order += leading
    renumber(order)


def setups_in_use(production: Production) -> list[Setup]:
    """Set-ups a list may name: all current ones, and an archived one some shot still has.

    The current ones come last, so that they win where codes are the same.
    """
    setups = production.setups.filter(Q(archived_at=None) | Q(shots__archived_at=None)).distinct()
    return sorted(setups, key=lambda setup: setup.archived_at is None)


def export_list(production: Production) -> str:
    """The shot list as text; importing it again changes nothing."""
    shots = production.shots.current().select_related("setup", "difficulty")
    return shot_list.write(
        [(listed(shot), shot.get_status_display()) for shot in shots], production.rate
    )


def listed(shot: Shot) -> ListedShot:
    """A stored shot as a list says it."""
    return ListedShot(
        code=shot.code,
        description=tidy(shot.description),
        setup=shot.setup.code if shot.setup else "",
        difficulty=shot.difficulty.name,
        screen_frames=shot.screen_frames,
        exposure=shot.exposure,
        held_frames=shot.held_frames,
        holds=shot.holds,
        reused_frames=shot.reused_frames,
        handle_frames=shot.handle_frames,
        notes=tidy(shot.notes),
    )
