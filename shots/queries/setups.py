"""What the set-up pages show."""

from dataclasses import dataclass

from django.db.models import Count, Prefetch, Q

from shots.models import Lamp, Production, Setup, Shot
from shots.trade.lamps import Load, load
from studio.models import Studio


@dataclass(frozen=True)
class Lock:
    """One line of a lock card; an empty value has not been written down yet."""

    label: str
    value: str


@dataclass(frozen=True)
class SetupCard:
    """A set-up with everything that must not change in it."""

    setup: Setup
    locks: tuple[Lock, ...]
    lamps: tuple[Lamp, ...]
    load: Load | None
    shots: int = 0

    @property
    def known(self) -> tuple[Lock, ...]:
        """What has been written down."""
        return tuple(lock for lock in self.locks if lock.value)


@dataclass(frozen=True)
class SetupList:
    """The set-ups of one production, and those put aside."""

    production: Production
    cards: tuple[SetupCard, ...]
    archived: tuple[Setup, ...]


@dataclass(frozen=True)
class SetupPage:
    """One set-up: its lock card and the shots taken in it."""

    card: SetupCard
    shots: tuple[Shot, ...]


def lock_card(setup: Setup) -> tuple[Lock, ...]:
    """Camera and lens as they are locked, with their units."""
    return (
        Lock("Camera", setup.camera),
        Lock("Focal length", _with_unit(setup.focal_length_mm, " mm")),
        Lock("Aperture", f"f/{setup.aperture.normalize():f}" if setup.aperture else ""),
        Lock("Shutter", f"{setup.shutter} s" if setup.shutter else ""),
        Lock("Sensitivity", f"ISO {setup.iso}" if setup.iso else ""),
        Lock("White balance", _with_unit(setup.white_balance_k, " K")),
        Lock("Focus", setup.focus_distance),
    )


def _with_unit(value, unit: str) -> str:
    if value is None:
        return ""
    return f"{value if isinstance(value, int) else format(value.normalize(), 'f')}{unit}"


def card(setup: Setup, studio: Studio) -> SetupCard:
    """The card of one set-up; wants its lamps prefetched where there are many."""
    lamps = tuple(setup.lamps.all())
    return SetupCard(
        setup=setup,
        locks=lock_card(setup),
        lamps=lamps,
        load=load(setup.lamp_watts, studio.circuit_volts, studio.circuit_amps) if lamps else None,
        shots=getattr(setup, "shots_in_it", 0),
    )


def setups(production: Production, studio: Studio) -> SetupList:
    """The list of set-ups."""
    in_film = Q(shots__archived_at__isnull=True) & ~Q(shots__status=Shot.Status.CUT)
    rows = list(
        production.setups.annotate(shots_in_it=Count("shots", filter=in_film)).prefetch_related(
            Prefetch("lamps", queryset=Lamp.objects.all())
        )
    )
    return SetupList(
        production=production,
        cards=tuple(card(row, studio) for row in rows if not row.archived_at),
        archived=tuple(row for row in rows if row.archived_at),
    )


def setup(row: Setup, studio: Studio) -> SetupPage:
    """The page of one set-up."""
    return SetupPage(
        card=card(row, studio),
        shots=tuple(row.shots.current().with_counts().select_related("difficulty")),
    )
