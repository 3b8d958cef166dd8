"""What productions earned: quoted against actual, one by one and side by side."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Avg, Count

from clients.models import ActualCost, ChangeOrder, FilmAccount, Quote, SentChangeOrder
from clients.queries.change_orders import accepted_offer, figures_of
from clients.queries.quotes import PaceBehind, evidence
from clients.trade.change import PricedChange
from clients.trade.earnings import (
    CostLine,
    Done,
    Earnings,
    agreement,
    cost_lines,
    earnings_of,
)
from clients.trade.earnings_plot import EarningsPlot, FilmShares, earnings_plot
from shots.models import Production
from shots.queries.floor import pictures_of, sessions_of
from shots.queries.quoted import PaceAgainst, paces_against
from studio.models import Studio
from studio.trade.money import quantize

NEWEST = 40  # productions side by side: enough to learn from, and the page stays quick


@dataclass(frozen=True)
class FilmEarnings:
    """One production held against the quote it came from."""

    production: Production
    quote: Quote
    result: Earnings
    costs: tuple[CostLine, ...]

    @property
    def is_over(self) -> bool:
        """Delivered: only then does an hour say what it earned."""
        return self.production.stage == Production.Stage.DELIVERED

    @property
    def unsaid(self) -> list[str]:
        """What was bought and counts as quoted, because nobody has said what it cost."""
        return [line.label for line in self.costs if line.bought and line.actual is None]


@dataclass(frozen=True)
class EarningsPage:
    """Productions side by side, and what the next quote should assume."""

    films: tuple[FilmEarnings, ...]
    plot: EarningsPlot | None
    paces: tuple[PaceBehind, ...]
    past: int


def earnings_page(studio: Studio, today: date) -> EarningsPage:
    """The newest productions that came from a quote."""
    quotes = _accepted().order_by("-answered_at", "-id")[:NEWEST]
    films = _films(list(quotes), studio)
    known = evidence(studio, None, today)
    shares = [_shares(film) for film in films if film.is_over]
    return EarningsPage(films, earnings_plot(shares), known.paces, known.past)


@dataclass(frozen=True)
class UsualCost:
    """What a line cost on average, before tax, in so many delivered films."""

    amount: Decimal
    films: int


def usual_costs(currency: str) -> dict[str, UsualCost]:
    """What lines really cost in the delivered films of one currency, by label."""
    rows = ActualCost.objects.filter(
        account__production__stage=Production.Stage.DELIVERED,
        account__production__archived_at=None,
        account__production__quote__currency=currency,
    )
    averaged = rows.order_by("label").values_list("label").annotate(Avg("amount"), Count("pk"))
    return {
        label: UsualCost(quantize(Decimal(mean), currency), films)
        for label, mean, films in averaged
    }


@dataclass(frozen=True)
class StartingValues:
    """What a new quote starts from. `last` is the newest delivered film that came from a quote,
    `costs` what the lines of a first quote start at."""

    paces: tuple[PaceBehind, ...]
    past: int
    last: FilmEarnings | None
    costs: dict[str, UsualCost]
    hours_per_day: Decimal

    @property
    def day_earned(self) -> Decimal | None:
        """What a day at the hour the last film earned comes to."""
        hour = self.last and self.last.result.hour_earned
        return None if hour is None else hour * self.hours_per_day


def starting_values(studio: Studio, today: date) -> StartingValues:
    """What the next quote assumes before anything is typed."""
    known = evidence(studio, None, today)
    delivered = _accepted().filter(production__stage=Production.Stage.DELIVERED)
    last = _films(list(delivered.order_by("-answered_at", "-id")[:1]), studio)
    return StartingValues(
        known.paces,
        known.past,
        last[0] if last else None,
        usual_costs(studio.currency),
        Decimal(studio.hours_per_day),
    )


@dataclass(frozen=True)
class FilmEarningsPage:
    """One production's page; `film` is None where no quote was accepted for it."""

    production: Production
    film: FilmEarnings | None
    account: FilmAccount
    paces: tuple[PaceAgainst, ...]


def film_earnings_page(production: Production, studio: Studio) -> FilmEarningsPage:
    """One production against its quote."""
    films = _films(list(_accepted().filter(production=production)), studio)
    return FilmEarningsPage(
        production,
        films[0] if films else None,
        account_of(production),
        paces_against(production),
    )


def account_of(production: Production) -> FilmAccount:
    """The production's account; a new one, not saved, where nothing was said yet."""
    found = FilmAccount.objects.filter(production=production).first()
    return found or FilmAccount(production=production, version=0)


def _accepted():
    rows = Quote.objects.filter(production__isnull=False, production__archived_at=None)
    return rows.select_related("client", "production", "sent", "acceptance__option").defer(
        "sent__pdf", "sent__paper"
    )


def _films(quotes: Sequence[Quote], studio: Studio) -> tuple[FilmEarnings, ...]:
    productions = [quote.production for quote in quotes]
    rows = FilmAccount.objects.filter(production__in=productions).prefetch_related("costs")
    accounts = {account.production_id: account for account in rows}
    done, changes = _done(productions, accounts), _changes(quotes)
    films = []
    for quote in quotes:
        account = accounts.get(quote.production_id)
        actual = {cost.label: cost.amount for cost in account.costs.all()} if account else {}
        agreed = agreement(accepted_offer(quote).priced, changes[quote.pk])
        costs = cost_lines(agreed, actual)
        result = earnings_of(
            agreed, done[quote.production_id], costs, Decimal(studio.hours_per_day)
        )
        films.append(FilmEarnings(quote.production, quote, result, costs))
    return tuple(films)


def _changes(quotes: Iterable[Quote]) -> dict[int, list[PricedChange]]:
    """The changes accepted of each quote, in their order, by its primary key."""
    rows = SentChangeOrder.objects.filter(order__in=ChangeOrder.objects.accepted())
    rows = rows.filter(order__quote__in=quotes).select_related("order").defer("pdf", "paper")
    found = defaultdict(list)
    for sent in rows.order_by("order__answered_at", "order_id"):
        found[sent.order.quote_id].append(figures_of(sent))
    return found


def _done(productions: Iterable[Production], accounts: dict[int, FilmAccount]) -> dict[int, Done]:
    """What each production took: its sessions, its kept pictures, its hours off the set."""
    days, hours, pictures = {}, {}, pictures_of(productions)
    for film, sessions in sessions_of(productions).items():
        days[film] = {session.date for session in sessions}
        hours[film] = sum((Decimal(session.hours) for session in sessions), Decimal(0))
    return {
        film.pk: Done(
            days=len(days[film.pk]),
            hours_on_set=round(hours[film.pk], 1),
            hours_off_set=accounts[film.pk].hours_off_set if film.pk in accounts else None,
            pictures=pictures[film.pk],
        )
        for film in productions
    }


def _shares(film: FilmEarnings) -> FilmShares:
    """A delivered film in per cent of its quote, for the plot."""
    result = film.result
    percent = {row.label: row.percent for row in result.rows}
    return FilmShares(
        label=film.production.code,
        days=_of_quoted(percent["days"]),
        pace=_of_quoted(percent["pictures an hour on the set"]),
        hour=None
        if not result.hour_quoted or result.hour_earned is None
        else result.hour_earned / result.hour_quoted,
    )


def _of_quoted(change: Decimal | None) -> Decimal | None:
    return None if change is None else 1 + change / 100
