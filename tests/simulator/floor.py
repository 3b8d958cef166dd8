"""Simulated productions, shot by shot and day by day, until they are done.

They know nothing of the forecast: set-ups, retakes, growth, empty and lost days happen to them as
on a floor. Some regimes break what the forecast supposes (a helper joins, shots are added, an
absence), and that is on purpose.
"""

import copy
import math
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

import numpy as np

from shots.trade.forecast.history import History, Output, PastProduction, Session, Shot
from studio.trade.calendar import WorkCalendar

START = date(2026, 3, 2)  # a Monday
QUOTED = {"easy": 20.0, "medium": 12.0, "hard": 6.0}


@dataclass(frozen=True)
class Regime:
    """How the productions of one kind differ from the standard one."""

    name: str
    shots: tuple[int, int] = (12, 40)
    budget: float = 50.0  # pictures of a middling shot
    classes: dict[str, float] = field(
        default_factory=lambda: {"easy": 0.4, "medium": 0.4, "hard": 0.2}
    )
    order: str = "mixed"  # or "easy first", "hard first"
    past: tuple[int, int] = (1, 3)
    past_shots: tuple[int, int] | None = None
    weekdays: tuple[int, ...] = (0, 1, 2, 3, 4)
    hours: tuple[float, float] = (6.0, 8.0)
    quote_shift: float = 0.0  # log: how much slower than quoted, beyond the usual
    day_sd: float = 0.40
    setup_hours: float = 1.4
    group: tuple[int, int] = (1, 4)
    growth: float = 0.04
    retake: float = 0.08
    lost: float = 0.08
    slow_down: float = 0.0  # log pace lost from some day on
    helper: float = 0.0  # log pace won from some day on
    absence: tuple[int, int] | None = None  # working days away
    added: float = 0.0  # share of shots added while shooting


FORTY = {f"kind {n:02d}": 1 / 40 for n in range(40)}
REGIMES = (
    Regime("standard"),
    Regime("no history", past=(0, 0)),
    Regime("one-day history", past=(1, 1), past_shots=(1, 2)),
    Regime("easy then hard", order="easy first"),
    Regime("hard then easy", order="hard first"),
    Regime("part time", weekdays=(0, 2, 4), hours=(3.5, 5.0)),
    Regime("long", shots=(90, 140)),
    Regime("single class", classes={"medium": 1.0}),
    Regime("two-day", shots=(2, 5), budget=35.0),
    Regime("slow-down", slow_down=0.4),
    Regime("absence", absence=(5, 10)),
    Regime("shots added", added=0.2),
    Regime("helper joins", helper=0.4),
    Regime("noisy days", day_sd=0.65),
    Regime("a set-up for each shot", setup_hours=2.2, group=(1, 1)),
    Regime("many retakes", retake=0.2, growth=0.15),
    Regime("forty difficulties", classes=FORTY, past=(0, 1)),
    Regime("quote too fast", quote_shift=0.35),
)


@dataclass(frozen=True)
class Studio:
    """What stays true of a studio from one production to the next."""

    bias: float
    deviations: dict[str, float]
    growth: float
    lost: float
    empty: float
    retake: float
    setup_hours: float
    hours_kept_to: float
    quoted: dict[str, float]


@dataclass
class Puppetry:
    """One shot as only the simulator knows it: how many pictures it will really take."""

    code: str
    difficulty: str
    setup: str
    budget: int
    final: int
    kept: int = 0
    done: bool = False


class Floor:
    """A production being shot, one working day at a time."""

    def __init__(self, regime: Regime, studio: Studio, rng: np.random.Generator):
        self.regime, self.studio, self.rng = regime, studio, rng
        self.level = studio.bias + rng.normal(0, 0.25)
        self.deviations = {c: d + rng.normal(0, 0.14) for c, d in studio.deviations.items()}
        self.growth = studio.growth + rng.normal(0, 0.07)
        self.lost = min(rng.beta(10 * studio.lost, 10 * (1 - studio.lost)), 0.6)
        self.drift = rng.normal(0, 0.25)
        self.calendar = WorkCalendar(
            working_weekdays=frozenset(regime.weekdays),
            days_off=frozenset(),
            hours_per_day=float(np.round(rng.uniform(*regime.hours), 1)),
        )
        self.shots: list[Puppetry] = []
        self.groups = 0
        self.plan(int(rng.integers(regime.shots[0], regime.shots[1] + 1)))
        self.day = START - timedelta(days=1)
        self.elapsed = 0
        self.sessions: list[Session] = []
        self.retakes_due: dict[int, list[Puppetry]] = {}
        self.rigged: str | None = None
        self.setup_left = 0.0
        self.shock_at = rng.uniform(0.2, 0.7)  # share kept when the regime's shock comes
        self.shocked = False
        self.away = 0
        self.faster = 1.0  # what a re-simulation multiplies the pace with

    def plan(self, count: int) -> None:
        """Add shots to the list, in groups of one set-up."""
        names, odds = zip(*self.regime.classes.items(), strict=True)
        new, room = [], 0
        for _ in range(count):
            if room == 0:
                self.groups += 1
                room = int(self.rng.integers(self.regime.group[0], self.regime.group[1] + 1))
            room -= 1
            budget = max(4, round(self.rng.lognormal(math.log(self.regime.budget), 0.5)))
            final = max(2, round(budget * math.exp(self.rng.normal(self.growth, 0.2))))
            name = names[int(self.rng.choice(len(names), p=odds))]
            code = f"A{len(self.shots) + len(new) + 1:03d}"
            new.append(Puppetry(code, name, f"S{self.groups:03d}", budget, final))
        if self.regime.order != "mixed":
            sign = -1 if self.regime.order == "easy first" else 1
            new.sort(key=lambda shot: sign * self.studio.quoted[shot.difficulty])
        self.shots += new

    @property
    def finished(self) -> bool:
        return all(shot.done for shot in self.shots)

    @property
    def share_kept(self) -> float:
        return sum(s.kept for s in self.shots) / sum(s.budget for s in self.shots)

    def next_day(self) -> None:
        """Pass one working day."""
        self.day += timedelta(days=1)
        while not self.calendar.is_working(self.day):
            self.day += timedelta(days=1)
        self.elapsed += 1
        keep = math.exp(-1 / 15)
        self.drift = keep * self.drift + 0.25 * math.sqrt(1 - keep**2) * self.rng.normal()
        if not self.shocked and self.share_kept >= self.shock_at:
            self.shock()
        for shot in self.retakes_due.pop(self.elapsed, []):
            shot.kept -= max(1, round(shot.kept * self.rng.uniform(0.3, 1.0)))
            shot.done = False
        if self.away > 0:
            self.away -= 1
        elif self.rng.random() >= self.lost:
            self.sessions.append(self.session())

    def shock(self) -> None:
        """What the regime has in store and no forecast could see."""
        self.shocked = True
        self.level += self.regime.helper - self.regime.slow_down
        if self.regime.absence:
            self.away = int(self.rng.integers(self.regime.absence[0], self.regime.absence[1] + 1))
        if self.regime.added:
            self.plan(max(1, round(self.regime.added * len(self.shots))))

    def session(self) -> Session:
        """One day of shooting."""
        rng = self.rng
        hours = self.calendar.hours_per_day * self.studio.hours_kept_to
        hours = max(0.25, round(hours * max(0.2, rng.normal(1, 0.15)) * 4) / 4)
        if rng.random() < self.studio.empty:
            return Session(self.day, hours)
        luck = rng.gamma(1 / self.regime.day_sd**2) * self.regime.day_sd**2
        left, setup_hours, output = hours, 0.0, []
        while left > 1e-9 and not self.finished:
            shot = next(s for s in self.shots if not s.done)
            rigging = self.rig(shot, left)
            setup_hours += rigging
            left -= rigging
            log_pace = self.level + self.deviations[shot.difficulty] + self.drift
            pace = self.studio.quoted[shot.difficulty] * math.exp(log_pace) * luck * self.faster
            wanted = shot.final - shot.kept
            able = pace * left
            kept = wanted if able >= wanted else int(able + rng.random())
            left = left - wanted / pace if able >= wanted else 0.0
            if kept:
                shot.kept += kept
                output.append(Output(shot.code, kept, int(rng.poisson(0.06 * kept))))
            if shot.kept >= shot.final:
                self.finish(shot)
        return Session(self.day, hours, round(min(setup_hours, hours), 2), tuple(output))

    def rig(self, shot: Puppetry, hours: float) -> float:
        """Hours of the day's `hours` that go to the shot's set-up."""
        if shot.setup != self.rigged:
            self.rigged = shot.setup
            self.setup_left = self.studio.setup_hours * self.rng.gamma(3) / 3
        rigging = min(hours, self.setup_left)
        self.setup_left -= rigging
        return rigging

    def finish(self, shot: Puppetry) -> None:
        shot.done = True
        if self.rng.random() < self.studio.retake:
            due = self.elapsed + int(self.rng.geometric(0.2))
            self.retakes_due.setdefault(due, []).append(shot)

    def record(self) -> dict:
        """What the studio's books say at the end of this day."""
        return {
            "shots": tuple(
                Shot(s.code, s.difficulty, s.setup, s.budget, s.kept, s.done) for s in self.shots
            ),
            "sessions": tuple(self.sessions),
            "calendar": self.calendar,
            "assumed_pictures_per_hour": dict(self.studio.quoted),
        }


def studio_of(regime: Regime, rng: np.random.Generator) -> Studio:
    names = list(regime.classes)
    if set(names) <= set(QUOTED):
        quoted = {name: QUOTED[name] for name in names}
    else:
        quoted = dict(zip(names, np.geomspace(25, 5, len(names)).tolist(), strict=True))
    return Studio(
        bias=rng.normal(-0.12, 0.30) - regime.quote_shift,
        deviations={name: rng.normal(0, 0.14) for name in names},
        growth=regime.growth + rng.normal(0, 0.08),
        lost=min(rng.beta(20 * regime.lost, 20 * (1 - regime.lost)), 0.5),
        empty=rng.beta(1, 24),
        retake=rng.beta(12 * regime.retake, 12 * (1 - regime.retake)),
        setup_hours=regime.setup_hours * math.exp(rng.normal(0, 0.35)),
        hours_kept_to=rng.normal(0.95, 0.08),
        quoted=quoted,
    )


STAGES = ("0", "1", "3", "5", "10", "25 %", "50 %", "75 %")


@dataclass(frozen=True)
class Case:
    """One evening of one simulated production, and what happened after it."""

    regime: str
    stage: str
    history: History
    days_left: int
    floor: Floor  # as it stood that evening, to be shot on

    @property
    def days_to_deadline(self) -> int:
        return self.history.calendar.count(self.history.as_of, self.history.deadline)

    def days_left_at(self, faster: float) -> int:
        """Days left had the pace been `faster` times as high from the next day on."""
        floor = copy.deepcopy(self.floor)
        floor.faster = faster
        while not floor.finished and floor.elapsed - self.floor.elapsed < 5000:
            floor.next_day()
        return floor.elapsed - self.floor.elapsed


def cases(regime: Regime, seed: int) -> list[Case]:
    """One production of a regime, seen on the evening of each stage it reaches."""
    rng = np.random.default_rng(seed)
    studio = studio_of(regime, rng)
    count = int(rng.integers(regime.past[0], regime.past[1] + 1))
    past = tuple(past_production(regime, studio, rng) for _ in range(count))
    floor = Floor(regime, studio, rng)
    quoted_hours = sum(s.budget / studio.quoted[s.difficulty] for s in floor.shots)
    planned = quoted_hours / (0.55 * floor.calendar.hours_per_day)
    promised = max(1, round(planned * math.exp(rng.normal(0, 0.35))))
    deadline = floor.calendar.add(floor.day, promised)
    seen: dict[str, tuple[Floor, History]] = {}
    while not floor.finished:
        for stage in STAGES:
            if stage not in seen and reached(floor, stage):
                history = History(
                    **floor.record(), as_of=floor.day, deadline=deadline, past_productions=past
                )
                seen[stage] = (copy.deepcopy(floor), history)
        floor.next_day()
    return [
        Case(regime.name, stage, history, floor.elapsed - then.elapsed, then)
        for stage, (then, history) in seen.items()
    ]


def reached(floor: Floor, stage: str) -> bool:
    if stage.endswith("%"):
        return floor.share_kept >= float(stage[:-2]) / 100
    return len(floor.sessions) >= int(stage)


def past_production(regime: Regime, studio: Studio, rng: np.random.Generator) -> PastProduction:
    """A finished production of the studio, of ordinary length and without a shock."""
    shots = regime.past_shots or (min(regime.shots[0], 12), min(regime.shots[1], 40))
    ordinary = replace(
        regime, shots=shots, slow_down=0.0, helper=0.0, absence=None, added=0.0, order="mixed"
    )
    floor = Floor(ordinary, studio, rng)
    while not floor.finished:
        floor.next_day()
    return PastProduction(**floor.record(), finished=floor.day)
