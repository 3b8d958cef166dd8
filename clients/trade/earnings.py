"""What a finished film earned against its quote, and the pace the next quote should assume."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from shots.trade.measured_pace import PaceRecord
from studio.trade.money import quantize

# An assumed pace counts as if it had been measured over this many hours of shooting.
HOURS_BEHIND_AN_ASSUMPTION = 20


@dataclass(frozen=True)
class Account:
    """A production in figures, as quoted or as it was.

    `hours` are all hours worked. `income` is before tax. `costs` are paid out to others, by what
    they were for: materials, hire, travel.
    """

    days: Decimal
    hours: Decimal
    pictures: int
    income: Decimal
    costs: Mapping[str, Decimal]

    @property
    def left(self) -> Decimal:
        """Income less costs."""
        return self.income - sum(self.costs.values())


@dataclass(frozen=True)
class EarningsRow:
    """One figure quoted and actual; `percent` is the change, None from nothing."""

    label: str
    quoted: Decimal
    actual: Decimal
    percent: Decimal | None

    @property
    def change(self) -> Decimal:
        return self.actual - self.quoted


@dataclass(frozen=True)
class Earnings:
    """Quoted against actual, and what an hour was to earn and really earned (None for 0 hours)."""

    rows: tuple[EarningsRow, ...]
    hour_quoted: Decimal | None
    hour_earned: Decimal | None


@dataclass(frozen=True)
class NextPace:
    """Pictures an hour the next quote should assume, and what stands behind it."""

    difficulty: str
    pace: Decimal
    pictures: int
    sessions: int
    words: str


def earnings(quoted: Account, actual: Account, currency: str) -> Earnings:
    """Compare a quote with what happened, figure by figure, costs by name."""
    names = dict.fromkeys([*quoted.costs, *actual.costs])
    pairs = [
        ("days", quoted.days, actual.days),
        ("hours", quoted.hours, actual.hours),
        ("pictures", Decimal(quoted.pictures), Decimal(actual.pictures)),
        ("pictures an hour", _pace(quoted), _pace(actual)),
        ("income", quoted.income, actual.income),
        *(
            (name, quoted.costs.get(name, Decimal(0)), actual.costs.get(name, Decimal(0)))
            for name in names
        ),
        ("left after costs", quoted.left, actual.left),
    ]
    return Earnings(
        tuple(
            EarningsRow(label, here, there, _percent(here, there)) for label, here, there in pairs
        ),
        _an_hour(quoted, currency),
        _an_hour(actual, currency),
    )


def next_paces(
    measured: Mapping[str, PaceRecord], assumed: Mapping[str, Decimal]
) -> tuple[NextPace, ...]:
    """The pace to assume next, by difficulty: measured pictures over hours, with the assumption
    counted as 20 hours more.

    That is the mean of a Gamma-Poisson update of a Gamma(20 × assumed, 20) belief (Bayesian Data
    Analysis, 3rd edition, 2.6): with few sessions the assumption holds, with many it fades.
    """
    names = dict.fromkeys([*assumed, *measured])
    paces = (_next_pace(name, measured.get(name), assumed.get(name)) for name in names)
    return tuple(one for one in paces if one)


def _next_pace(
    difficulty: str, measured: PaceRecord | None, assumed: Decimal | None
) -> NextPace | None:
    pictures, hours, sessions = 0, Decimal(0), 0
    if measured:
        pictures, hours, sessions = measured.pictures, measured.hours, measured.sessions
    belief = Decimal(HOURS_BEHIND_AN_ASSUMPTION) if assumed else Decimal(0)
    if not hours + belief:
        return None
    pace = (pictures + belief * (assumed or 0)) / (hours + belief)
    if not pictures:
        words = "assumed; nothing measured yet"
    else:
        words = f"{pictures:,} pictures in {sessions} {'session' if sessions == 1 else 'sessions'}"
        if assumed:
            words += f", together with the {assumed.normalize():f} assumed"
    return NextPace(difficulty, round(pace, 2), pictures, sessions, words)


def _pace(account: Account) -> Decimal:
    return round(account.pictures / account.hours, 2) if account.hours else Decimal(0)


def _percent(quoted: Decimal, actual: Decimal) -> Decimal | None:
    return round((actual - quoted) / quoted * 100, 1) if quoted else None


def _an_hour(account: Account, currency: str) -> Decimal | None:
    return quantize(account.left / account.hours, currency) if account.hours else None
