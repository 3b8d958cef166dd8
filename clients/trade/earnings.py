"""What a finished film earned against its quote, and the pace the next quote should assume."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from clients.trade.change import PricedChange
from clients.trade.quoting.lines import Basis, LineKind, PricedLine
from clients.trade.quoting.pricing import PricedOption
from shots.trade.measured_pace import PaceRecord
from studio.trade.money import quantize

# An assumed pace counts as if it had been measured over this many hours of shooting.
HOURS_BEHIND_AN_ASSUMPTION = 20

# What is paid to others unless somebody says otherwise, and what never is.
BOUGHT = {LineKind.MATERIALS, LineKind.HIRE, LineKind.TRAVEL}
NO_COST = {LineKind.ANIMATION, LineKind.CONTINGENCY, LineKind.LICENCE, LineKind.DISCOUNT}
# Work that is not done before the camera.
OFF_SET = {
    LineKind.PRE_PRODUCTION, LineKind.BUILDS, LineKind.CLEANUP, LineKind.EDIT, LineKind.GRADE,
    LineKind.SOUND, LineKind.OTHER,
}  # fmt: skip


@dataclass(frozen=True)
class Account:
    """A production in figures, as quoted or as it was.

    `income` is before tax. `costs` are paid out to others, by what they were for.
    """

    days: Decimal
    hours_on_set: Decimal
    hours_off_set: Decimal
    pictures: int
    income: Decimal
    costs: Mapping[str, Decimal]

    @property
    def hours(self) -> Decimal:
        return self.hours_on_set + self.hours_off_set

    @property
    def pace(self) -> Decimal:
        """Pictures an hour on the set, set-ups included."""
        return round(self.pictures / self.hours_on_set, 2) if self.hours_on_set else Decimal(0)

    @property
    def paid_out(self) -> Decimal:
        return sum(self.costs.values(), Decimal(0))

    @property
    def left(self) -> Decimal:
        """Income less costs."""
        return self.income - self.paid_out


@dataclass(frozen=True)
class Agreement:
    """What the client agreed to: days at even chance, pictures, the price before tax, its lines."""

    days: int
    pictures: int
    net: Decimal
    lines: tuple[PricedLine, ...]
    currency: str


@dataclass(frozen=True)
class CostLine:
    """Something that may be paid to others. `quoted` is None for what was not in the quote,
    `actual` for what nobody has said yet.

    What is `bought` (materials, hire, travel) is then taken to cost what was quoted; anything else
    is the studio's own work, and costs nothing until somebody says so.
    """

    label: str
    quoted: Decimal | None
    actual: Decimal | None
    bought: bool = False

    @property
    def counts(self) -> bool:
        return self.bought or self.actual is not None


@dataclass(frozen=True)
class Done:
    """What a production took. `hours_off_set` is None while nobody has said it."""

    days: int
    hours_on_set: Decimal
    hours_off_set: Decimal | None
    pictures: int


@dataclass(frozen=True)
class EarningsRow:
    """One figure quoted and actual; `percent` is the change, None from nothing."""

    label: str
    quoted: Decimal
    actual: Decimal
    percent: Decimal | None
    is_money: bool = False

    @property
    def change(self) -> Decimal:
        return self.actual - self.quoted


@dataclass(frozen=True)
class Earnings:
    """Quoted against actual, and what an hour was to earn and really earned (None for 0 hours)."""

    quoted: Account
    actual: Account
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


def agreement(quoted: PricedOption, changes: Sequence[PricedChange] = ()) -> Agreement:
    """The option accepted, and the changes accepted since, in their order."""
    return Agreement(
        days=changes[-1].after.days_even if changes else quoted.days.even,
        pictures=quoted.work.pictures + sum(one.pictures for one in changes),
        net=quoted.totals.net + sum(one.totals.net for one in changes),
        lines=(*quoted.lines, *(line for one in changes for line in one.lines)),
        currency=quoted.currency,
    )


def cost_lines(agreed: Agreement, actual: Mapping[str, Decimal]) -> tuple[CostLine, ...]:
    """The lines that may have cost something, and what else was paid for. Lines of the same name
    are one."""
    quoted: dict[str, Decimal] = {}
    for one in agreed.lines:
        if not one.line.optional and one.line.kind not in NO_COST:
            quoted[one.line.label] = quoted.get(one.line.label, Decimal(0)) + one.amount
    bought = {one.line.label for one in agreed.lines if one.line.kind in BOUGHT}
    return tuple(
        CostLine(label, quoted.get(label), actual.get(label), label in bought)
        for label in dict.fromkeys([*quoted, *actual])
    )


def earnings_of(
    agreed: Agreement, done: Done, costs: Iterable[CostLine], hours_per_day: Decimal
) -> Earnings:
    """What was agreed against what its production took. What nobody has said counts as quoted:
    hours off the set, and the cost of what was bought."""
    costs = tuple(costs)
    counted = [line for line in costs if line.counts]
    off_set = hours_off_set(agreed, costs, hours_per_day)
    quoted = Account(
        days=Decimal(agreed.days),
        hours_on_set=agreed.days * hours_per_day,
        hours_off_set=off_set,
        pictures=agreed.pictures,
        income=agreed.net,
        costs={line.label: line.quoted or Decimal(0) for line in counted},
    )
    actual = Account(
        days=Decimal(done.days),
        hours_on_set=done.hours_on_set,
        hours_off_set=off_set if done.hours_off_set is None else done.hours_off_set,
        pictures=done.pictures,
        income=agreed.net,
        costs={line.label: line.quoted if line.actual is None else line.actual for line in counted},
    )
    return earnings(quoted, actual, agreed.currency)


def hours_off_set(agreed: Agreement, costs: Iterable[CostLine], hours_per_day: Decimal) -> Decimal:
    """Hours quoted for the studio's own work beside the shoot.

    Its days, its hours of clean-up, and any other amount as days at the day rate of the first
    animation line. What was done by others takes none.
    """
    by_others = {line.label for line in costs if line.actual is not None}
    day_rate = _day_rate(agreed)
    hours = Decimal(0)
    for one in agreed.lines:
        line = one.line
        if line.optional or line.kind not in OFF_SET or line.label in by_others:
            continue
        if line.basis == Basis.DAYS:
            hours += one.quantity * hours_per_day
        elif line.kind == LineKind.CLEANUP and line.basis == Basis.QUANTITY:
            hours += one.quantity
        elif day_rate:
            hours += one.amount / day_rate * hours_per_day
    return round(hours, 1)


def _day_rate(agreed: Agreement) -> Decimal | None:
    rates = (
        one.price
        for one in agreed.lines
        if one.line.kind == LineKind.ANIMATION and one.line.basis == Basis.DAYS
    )
    return next(rates, None)


def earnings(quoted: Account, actual: Account, currency: str) -> Earnings:
    """Compare a quote with what happened, figure by figure, costs by name."""
    names = dict.fromkeys([*quoted.costs, *actual.costs])
    nothing = Decimal(0)
    rows = [
        _row("days", quoted.days, actual.days),
        _row("hours on the set", quoted.hours_on_set, actual.hours_on_set),
        _row("hours off the set", quoted.hours_off_set, actual.hours_off_set),
        _row("pictures", Decimal(quoted.pictures), Decimal(actual.pictures)),
        _row("pictures an hour on the set", quoted.pace, actual.pace),
        _row("income", quoted.income, actual.income, is_money=True),
        *(
            _row(name, quoted.costs.get(name, nothing), actual.costs.get(name, nothing), True)
            for name in names
        ),
        _row("left after costs", quoted.left, actual.left, is_money=True),
    ]
    return Earnings(
        quoted, actual, tuple(rows), _an_hour(quoted, currency), _an_hour(actual, currency)
    )


def _row(label: str, quoted: Decimal, actual: Decimal, is_money: bool = False) -> EarningsRow:
    return EarningsRow(label, quoted, actual, _percent(quoted, actual), is_money)


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


def _percent(quoted: Decimal, actual: Decimal) -> Decimal | None:
    return round((actual - quoted) / quoted * 100, 1) if quoted else None


def _an_hour(account: Account, currency: str) -> Decimal | None:
    return quantize(account.left / account.hours, currency) if account.hours else None
