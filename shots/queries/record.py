"""The record: what was promised evening by evening, against what happened."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from hashlib import sha256

from django.db.models import Max, OuterRef, Subquery

from shots.models import Production, Promise, Session
from shots.queries.floor import as_text
from shots.trade import forecast_record as trade
from shots.trade.forecast.sentences import written
from shots.trade.promise_plot import PromisePlot, Said, promise_plot
from studio.models import Studio
from studio.queries import work_calendar
from studio.trade.calendar import WorkCalendar

LEVELS = [n / 10 for n in range(1, 10)]  # chances of the dates that the calibration looks at
BETWEEN_LEVELS = [(n + 0.5) / 10 for n in range(10)]
FOUR_IN_FIVE = 0.8
NEWEST = 40  # delivered films the record looks at: enough to judge, and it stays quick


@dataclass(frozen=True)
class Outcome:
    """One evening's promise of a delivered film, and the working days it really took."""

    film: str  # its code
    evening: date
    days: list[int]
    days_uncorrected: list[int] | None
    chance: float | None
    in_time: bool
    happened: int

    def place(self, samples: list[int]) -> float:
        """Where what happened lies among them; the lot that splits a day is always the same."""
        drawn = sha256(f"{self.film} {self.evening}".encode()).digest()[:7]
        luck = int.from_bytes(drawn) / 256**7
        return trade.randomised_place(samples, self.happened, luck)

    @property
    def place_said(self) -> float:
        return self.place(self.days)

    @property
    def place_uncorrected(self) -> float:
        return self.place(self.days_uncorrected or self.days)


@dataclass(frozen=True)
class KeptPromises:
    """Every promise kept of the newest delivered films, as it lies in the database.

    Unread on purpose: what follows from the same rows is remembered, and then nobody has to read
    a hundred days of a thousand evenings. A row is code, last day of shooting, evening, days, days
    uncorrected (both JSON), chance, deadline.
    """

    rows: tuple[tuple, ...]
    calendar: WorkCalendar


def kept_promises(studio: Studio) -> KeptPromises | None:
    """The record of the studio, in two queries however long it is; None without any."""
    delivered = Production.objects.current().filter(stage=Production.Stage.DELIVERED)
    newest = delivered.order_by("-created_at", "-id").values("pk")[:NEWEST]
    of_film = Session.objects.finished().filter(production=OuterRef("production"))
    said = Promise.objects.filter(production__in=newest).annotate(
        finished=Subquery(of_film.order_by("-day").values("day")[:1])
    )
    found = said.values_list(
        "production__code", as_text("finished"), as_text("evening"), as_text("days"),
        as_text("days_uncorrected"), "chance", as_text("deadline"),
    )  # fmt: skip
    # Left out here and not by the database, which would look up the last day once more for it.
    rows = tuple(row for row in found if row[1] and row[2] < row[1])
    if not rows:
        return None
    first = date.fromisoformat(min(row[2] for row in rows))
    last = date.fromisoformat(max(row[1] for row in rows))
    return KeptPromises(rows, work_calendar(studio, first, years=last.year - first.year + 1))


def outcomes(promises: KeptPromises) -> tuple[Outcome, ...]:
    """Each promise of the record against what happened."""
    return tuple(_outcome(row, promises.calendar) for row in promises.rows)


def _outcome(row: tuple, calendar: WorkCalendar) -> Outcome:
    code, finished, evening, days, uncorrected, chance, deadline = row
    last_day, said_on = date.fromisoformat(finished), date.fromisoformat(evening)
    return Outcome(
        film=code,
        evening=said_on,
        days=json.loads(days),
        days_uncorrected=uncorrected and json.loads(uncorrected),
        chance=chance,
        in_time=deadline is not None and last_day <= date.fromisoformat(deadline),
        happened=calendar.count(said_on, last_day),
    )


def correction(studio: Studio) -> trade.Correction | None:
    """What the studio's own record corrects; None until it clearly has to."""
    promises = kept_promises(studio)
    return promises and correction_of(promises)


@lru_cache(2)  # of one studio: the record as it stands, and as it stood before
def correction_of(promises: KeptPromises) -> trade.Correction | None:
    """What a record corrects."""
    places = [trade.Place(one.film, one.place_uncorrected) for one in outcomes(promises)]
    return trade.correction(places)


@dataclass(frozen=True)
class Calibration:
    """The record across productions, said against happened."""

    trust: trade.Trust
    levels: tuple[trade.Band, ...]  # of the dates promised, by their chance
    deadline: tuple[trade.Band, ...]  # of the chance said of the deadline
    films: tuple[str, ...]  # codes of the films it rests on
    correction: trade.Correction | None
    marks: tuple[float, ...] = (0, 0.25, 0.5, 0.75, 1)  # shares written along the axes

    @property
    def correction_sentence(self) -> str:
        """What the record does to the forecasts from now on."""
        if self.correction is None:
            return (
                "Forecasts are not corrected: the record is within what luck explains, or too "
                "short to say."
            )
        level = self.correction.level(FOUR_IN_FIVE)
        return (
            "Over all chances, not only four in five, the record is further off than luck "
            "explains. So forecasts are corrected from it: to hold four times in five, the "
            f"promised date is the one the model alone calls {100 * level:.0f} % sure."
        )


def calibration(studio: Studio) -> Calibration:
    """Said against happened, over every delivered film whose evenings were kept."""
    promises = kept_promises(studio)
    return calibration_of(promises) if promises else _calibration([])


@lru_cache(2)
def calibration_of(promises: KeptPromises) -> Calibration:
    """Said against happened, of a record."""
    return _calibration(outcomes(promises))


def _calibration(found: Sequence[Outcome]) -> Calibration:
    places = [(one.film, one.place_said) for one in found]
    return Calibration(
        trust=trade.trust([trade.Promise(f, FOUR_IN_FIVE, p <= FOUR_IN_FIVE) for f, p in places]),
        levels=trade.calibration(
            [trade.Promise(f, level, p <= level) for level in LEVELS for f, p in places],
            BETWEEN_LEVELS,
        ),
        deadline=trade.calibration(
            [
                trade.Promise(one.film, one.chance, one.in_time)
                for one in found
                if one.chance is not None
            ]
        ),
        films=tuple(dict.fromkeys(one.film for one in found)),
        correction=trade.correction(
            [trade.Place(one.film, one.place_uncorrected) for one in found]
        ),
    )


@dataclass(frozen=True)
class Record:
    """How the promise of one production moved; `finished` once it is delivered."""

    production: Production
    promises: tuple[Promise, ...]
    finished: date | None
    plot: PromisePlot | None

    @property
    def dated(self) -> list[Promise]:
        """Promises with a date that was still ahead."""
        ahead = (p for p in self.promises if not self.finished or p.evening < self.finished)
        return [promise for promise in ahead if promise.likely]

    @property
    def sentence(self) -> str:
        if self.finished is None:
            if not self.promises:
                return "No evening’s promise is kept yet: the first one is kept today."
            count = len(self.promises)
            return f"{count} evening{'s' if count != 1 else ''} kept so far."
        ended = f"Shooting ended {written(self.finished, self.finished)}."
        if not self.dated:
            return f"{ended} No promise of it was kept, so there is nothing to hold against it."
        held = sum(self.finished <= promise.likely for promise in self.dated)
        first = self.dated[0]
        return (
            f"{ended} On {written(first.evening, self.finished)} the promise was "
            f"{written(first.even, self.finished)}, four times in five by "
            f"{written(first.likely, self.finished)}. The four-in-five date held on {held} of "
            f"{len(self.dated)} evenings."
        )


def record(production: Production) -> Record:
    """The record of one production, running or delivered."""
    promises = tuple(production.promises.all())
    finished = None
    if production.stage == Production.Stage.DELIVERED:
        finished = (
            Session.objects.finished()
            .filter(production=production)
            .aggregate(last=Max("day"))["last"]
        )
    said = [
        Said(promise.evening, promise.even, promise.likely, promise.deadline)
        for promise in promises
        if finished is None or promise.evening < finished
    ]
    return Record(production, promises, finished, promise_plot(said, finished))
