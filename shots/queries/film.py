"""What the list of productions and the film page show."""

from dataclasses import dataclass
from datetime import date

from shots.models import CallSheet, Production, Session, Shot
from shots.queries.days_left import DaysLeft, days_left, fan_of
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


@dataclass(frozen=True)
class ProductionList:
    """Productions in hand and those put aside."""

    films: tuple[FilmSummary, ...]
    archived: tuple[Production, ...]


def _summary(production: Production, shots: list[Shot]) -> FilmSummary:
    in_film = [shot for shot in shots if shot.status != Shot.Status.CUT]
    return FilmSummary(
        production=production,
        strip=strip(
            [
                StripShot(
                    label=shot.code,
                    frames=shot.screen_frames,
                    kept=shot.budget if shot.is_done else shot.kept,
                    budget=shot.budget,
                    status=shot.status,
                )
                for shot in in_film
            ],
            production.rate,
            production.contracted_frames,
        ),
        budget=sum(shot.budget for shot in in_film),
        kept=sum(shot.kept for shot in in_film),
        left=sum(shot.pictures_left for shot in in_film),
    )


def summaries(productions: list[Production]) -> tuple[FilmSummary, ...]:
    """Where several films stand, in two queries however many they are."""
    by_production: dict[int, list[Shot]] = {production.pk: [] for production in productions}
    for shot in Shot.objects.current().filter(production__in=productions).with_counts():
        by_production[shot.production_id].append(shot)
    return tuple(_summary(production, by_production[production.pk]) for production in productions)


def productions(studio: Studio, today: date) -> ProductionList:
    """The list of productions."""
    everything = list(Production.objects.all())
    return ProductionList(
        films=summaries([production for production in everything if not production.archived_at]),
        archived=tuple(production for production in everything if production.archived_at),
    )


@dataclass(frozen=True)
class FilmPage:
    """One film: where it stands and when it will be ready."""

    production: Production
    summary: FilmSummary
    left: DaysLeft
    fan: Fan


def film(production: Production, studio: Studio, today: date) -> FilmPage:
    """The film page."""
    left = days_left([production], studio, today)[production.pk]
    return FilmPage(
        production=production,
        summary=summaries([production])[0],
        left=left,
        fan=fan_of(left),
    )


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


def running_films(studio: Studio, today: date) -> tuple[RunningFilm, ...]:
    """Every running film, in a number of queries that does not grow with them."""
    running = list(Production.objects.running())
    if not running:
        return ()
    left = days_left(running, studio, today)
    calls = {
        sheet.production_id: sheet
        for sheet in CallSheet.objects.current()
        .filter(production__in=running, day=today)
        .prefetch_related("people__person", "shots__shot")
    }
    begun = {
        session.production_id: session
        for session in Session.objects.open().filter(production__in=running)
    }
    return tuple(
        RunningFilm(
            summary=summary,
            left=left[summary.production.pk],
            call_sheet=calls.get(summary.production.pk),
            open_session=begun.get(summary.production.pk),
        )
        for summary in summaries(running)
    )
