"""What the table of shots and one shot's own page show."""

from dataclasses import dataclass

from shots.models import Production, Shot
from shots.trade.shot_codes import next_code
from studio.trade.strip import Strip, StripShot, strip

PAGE_LENGTH = 200
LONGEST_DRAWN = 500  # shots a strip can still show apart


@dataclass(frozen=True)
class ShotTotals:
    """The film against its contract, in frames, and its pictures. Cut shots are not in it."""

    production: Production
    strip: Strip
    drawn: bool
    in_film: int
    budget: int
    kept: int
    left: int

    @property
    def over_words(self) -> str:
        """`over`, `under` or nothing, beside the frames of `over_frames`."""
        over = self.strip.over_frames
        return "over" if over and over > 0 else "under" if over else ""

    @property
    def over_frames(self) -> int:
        """How far over or under the contract, without a sign."""
        return abs(self.strip.over_frames or 0)


@dataclass(frozen=True)
class ShotsPage:
    """The table of shots: those shown, the totals of all, and what was put aside."""

    totals: ShotTotals
    shots: tuple[Shot, ...]
    shown: int
    everything: int
    page: int
    pages: int
    archived: tuple[Shot, ...]
    next_code: str

    @property
    def previous(self) -> int:
        return self.page - 1

    @property
    def following(self) -> int:
        return self.page + 1


def shots_page(production: Production, chosen: dict, page: int) -> ShotsPage:
    """The table of shots. `chosen` are wanted values of setup, status, difficulty."""
    everything = list(
        production.shots.with_counts().select_related("setup", "difficulty", "production")
    )
    current = [shot for shot in everything if shot.archived_at is None]
    wanted = [
        shot
        for shot in current
        if all(getattr(shot, name) == value for name, value in chosen.items())
    ]
    pages = max(1, -(-len(wanted) // PAGE_LENGTH))
    page = min(max(page, 1), pages)
    return ShotsPage(
        totals=_totals(production, current),
        shots=tuple(wanted[(page - 1) * PAGE_LENGTH : page * PAGE_LENGTH]),
        shown=len(wanted),
        everything=len(current),
        page=page,
        pages=pages,
        archived=tuple(shot for shot in everything if shot.archived_at),
        next_code=next_code([shot.code for shot in current]),
    )


def shot_totals(production: Production) -> ShotTotals:
    """The totals alone, after one row changed."""
    return _totals(production, list(production.shots.current().with_counts()))


def shot_row(production: Production, pk: int) -> Shot:
    """One shot with its counts. Raises Shot.DoesNotExist."""
    shots = production.shots.current().with_counts().select_related("setup", "difficulty")
    shot = shots.get(pk=pk)
    shot.production = production
    return shot


def neighbour(production: Production, chosen: dict, shot: Shot, down: bool) -> Shot | None:
    """The shot shown right before or after this one, None at the end."""
    shown = list(production.shots.current().filter(**chosen))
    places = [n for n, other in enumerate(shown) if other.pk == shot.pk]
    at = places[0] + (1 if down else -1) if places else -1
    return shown[at] if 0 <= at < len(shown) else None


def _totals(production: Production, shots: list[Shot]) -> ShotTotals:
    in_film = [shot for shot in shots if shot.status != Shot.Status.CUT]
    return ShotTotals(
        production=production,
        strip=strip(
            [
                StripShot(shot.code, shot.screen_frames, shot.kept, shot.budget, shot.status)
                for shot in in_film
            ],
            production.rate,
            production.contracted_frames,
        ),
        drawn=0 < len(in_film) <= LONGEST_DRAWN,
        in_film=len(in_film),
        budget=sum(shot.budget for shot in in_film),
        kept=sum(shot.kept for shot in in_film),
        left=sum(shot.pictures_left for shot in in_film),
    )
