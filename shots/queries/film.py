"""What the list of productions and the film page show."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import lru_cache

from django.core.paginator import Page, Paginator
from django.db.models import Case, Prefetch, Sum, When

from shots.models import (
    CallSheet,
    CallSheetIssue,
    CallSheetPerson,
    CallSheetShot,
    Production,
    Session,
    Shot,
)
from shots.queries.days_left import SEED, DaysLeft, days_left, fan_of
from shots.queries.floor import FILMS, FloorShot, shots_of
from shots.queries.record import Record, record
from shots.queries.remembered import remembered
from shots.queries.what_if import shots_left
from shots.trade.forecast.changes import what_moves_the_date
from shots.trade.forecast.sentences import Concern
from studio.models import Studio
from studio.trade.fan import Fan
from studio.trade.strip import Strip, StripShot, strip


@dataclass(frozen=True)
class FilmSummary:
    """Where one film stands: its strip and its counts of pictures."""

    production: Production
    strip: Strip
    budget: int
    kept: int
    left: int

    @property
    def share_kept(self) -> float:
        return 1 - self.left / self.budget if self.budget else 0.0


FILMS_ON_A_PAGE = 20


@dataclass(frozen=True)
class ProductionList:
    """Productions in hand, a page of them, and those put aside."""

    films: tuple[FilmSummary, ...]
    page: Page
    archived: tuple[Production, ...]


def summary(production: Production, shots: tuple[FloorShot, ...]) -> FilmSummary:
    """Where one film stands, of the shots in it."""
    return FilmSummary(
        production=production,
        strip=_strip(shots, production.rate, production.contracted_frames),
        budget=sum(shot.budget for shot in shots),
        kept=sum(shot.kept for shot in shots),
        left=sum(shot.pictures_left for shot in shots),
    )


@lru_cache(FILMS)
def _strip(shots: tuple[FloorShot, ...], rate: Fraction, contracted_frames: int | None) -> Strip:
    return strip(
        [
            StripShot(
                label=shot.code,
                frames=shot.screen_frames,
                kept=shot.budget if shot.is_done else shot.kept,
                budget=shot.budget,
                status=shot.status,
            )
            for shot in shots
        ],
        rate,
        contracted_frames,
    )


def summaries(productions: list[Production]) -> tuple[FilmSummary, ...]:
    """Where several films stand, in one query however many they are."""
    shots = shots_of(productions)
    return tuple(summary(production, shots[production.pk]) for production in productions)


def productions(page_number: str | None) -> ProductionList:
    """A page of the list of productions: what is not delivered yet first, then the newest."""
    delivered = Case(When(stage=Production.Stage.DELIVERED, then=1), default=0)
    current = Production.objects.current().order_by(delivered, "-created_at", "-id")
    page = Paginator(current, FILMS_ON_A_PAGE).get_page(page_number)
    return ProductionList(
        films=summaries(list(page.object_list)),
        page=page,
        archived=tuple(Production.objects.filter(archived_at__isnull=False)),
    )


@dataclass(frozen=True)
class MoveBar:
    """What one cause adds to the days left, as a sentence and a bar from `x`, in a width of 1."""

    sentence: str
    x: float
    width: float
    saves: bool


@dataclass(frozen=True)
class Ahead:
    """When a film will be ready, and why then."""

    left: DaysLeft
    fan: Fan
    moves: tuple[MoveBar, ...]
    zero: float  # where the bars start, in a width of 1
    concerns: tuple[Concern, ...]
    shots_left: tuple[Shot, ...]


@dataclass(frozen=True)
class FilmPage:
    """One film: where it stands, what was promised, and what is ahead unless it is delivered."""

    production: Production
    summary: FilmSummary
    record: Record
    ahead: Ahead | None


def film(production: Production, studio: Studio, today: date) -> FilmPage:
    """The film page."""
    kept = record(production)
    if production.stage == Production.Stage.DELIVERED:
        return FilmPage(production, summaries([production])[0], kept, ahead=None)
    left = days_left([production], studio, today)[production.pk]
    return FilmPage(
        production=production,
        summary=summary(production, left.shots),
        record=kept,
        ahead=_ahead(production, left, studio, kept),
    )


def _ahead(production: Production, left: DaysLeft, studio: Studio, kept: Record) -> Ahead:
    agreed = production.shots.current().aggregate(total=Sum("agreed_pictures"))["total"]
    zero, bars = move_bars(left)
    return Ahead(
        left=left,
        fan=fan_of(left, agreed, kept.promises),
        moves=bars,
        zero=zero,
        concerns=left.concerns(studio),
        shots_left=tuple(shots_left(production)),
    )


LEAST_MOVE = 0.05  # days; less would be written 0.0


def move_bars(left: DaysLeft) -> tuple[float, tuple[MoveBar, ...]]:
    """Where bars start, and a bar for each cause that moves the date, the largest first."""
    found = remembered(what_moves_the_date, left.history, seed=SEED)
    moves = [move for move in found if abs(move.days) >= LEAST_MOVE]
    saved = max((-move.days for move in moves), default=0)
    added = max((move.days for move in moves), default=0)
    saved, added = max(saved, 0), max(added, 0)
    span = (saved + added) or 1
    zero = saved / span
    bars = tuple(
        MoveBar(
            sentence=move.sentence,
            x=zero + min(move.days, 0) / span,
            width=abs(move.days) / span,
            saves=move.days < 0,
        )
        for move in moves
    )
    return zero, bars


@dataclass(frozen=True)
class RunningFilm:
    """A running film as Today shows it."""

    summary: FilmSummary
    left: DaysLeft
    call_sheet: CallSheet | None
    open_session: Session | None

    @property
    def production(self) -> Production:
        return self.summary.production


def running_films(
    studio: Studio, today: date, left_open: Iterable[Session]
) -> tuple[RunningFilm, ...]:
    """Every running film with its session among those left open, in a fixed number of queries."""
    running = list(Production.objects.running())
    if not running:
        return ()
    left = days_left(running, studio, today)
    parts = (
        Prefetch("people", CallSheetPerson.objects.select_related("person")),
        Prefetch("shots", CallSheetShot.objects.select_related("shot")),
        Prefetch("issues", CallSheetIssue.objects.defer("pdf", "contents")),
    )
    calls = {
        sheet.production_id: sheet
        for sheet in CallSheet.objects.current()
        .filter(production__in=running, day=today)
        .prefetch_related(*parts)
    }
    begun = {session.production_id: session for session in left_open}
    return tuple(
        RunningFilm(
            summary=summary(film, left[film.pk].shots),
            left=left[film.pk],
            call_sheet=calls.get(film.pk),
            open_session=begun.get(film.pk),
        )
        for film in running
    )
