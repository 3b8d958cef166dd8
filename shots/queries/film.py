"""What the list of productions and the film page show."""

from dataclasses import dataclass
from datetime import date

from shots.models import Production, Shot
from studio.models import Studio
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


def film(production: Production, studio: Studio, today: date) -> FilmPage:
    """The film page."""
    return FilmPage(production=production, summary=summaries([production])[0])
