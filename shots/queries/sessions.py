"""What the session pages show, and sessions rolled up by shot, by day and by production."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.core.paginator import Page, Paginator
from django.db.models import F, IntegerField, OuterRef, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from shots.models import (
    Incident,
    Production,
    Session,
    SessionCheck,
    SessionShot,
    Shot,
)
from shots.queries.setups import Lock, lock_card
from shots.trade.session_times import LONG, spoken, worked
from studio.models import Person

DAYS_ON_A_PAGE = 14


@dataclass(frozen=True)
class Totals:
    """Finished sessions added up. Hours include set-up and leave breaks out."""

    hours: float = 0.0
    setup_hours: float = 0.0
    kept: int = 0
    discarded: int = 0

    @property
    def pace(self) -> float | None:
        """Kept pictures per hour, set-up left out; None where no such hour was worked."""
        animating = self.hours - self.setup_hours
        return self.kept / animating if animating > 0 else None


@dataclass(frozen=True)
class DayTotals:
    """One shooting day of a production."""

    day: date
    totals: Totals
    sessions: tuple[Session, ...]


@dataclass(frozen=True)
class ShotTotals:
    """What all sessions did for one shot, retakes not taken off."""

    kept: int
    discarded: int


def _with_output(sessions: QuerySet) -> QuerySet:
    """Adds `kept` and `discarded` of each session, in the same query."""
    output = SessionShot.objects.filter(session=OuterRef("pk")).order_by().values("session")
    return sessions.annotate(
        kept=Coalesce(Subquery(output.values(n=Sum("kept")), output_field=IntegerField()), 0),
        discarded=Coalesce(
            Subquery(output.values(n=Sum("discarded")), output_field=IntegerField()), 0
        ),
    )


def _add_up(sessions: Iterable[Session]) -> Totals:
    """Totals of finished sessions that came `_with_output`."""
    finished = [session for session in sessions if session.ended_at]
    return Totals(
        hours=sum(session.hours for session in finished),
        setup_hours=sum(session.setup_minutes for session in finished) / 60,
        kept=sum(session.kept for session in finished),
        discarded=sum(session.discarded for session in finished),
    )


def totals_of_production(production: Production) -> Totals:
    """All finished sessions of a production added up, in two queries."""
    finished = Session.objects.finished().filter(production=production).order_by()
    times = finished.aggregate(
        length=Sum(F("ended_at") - F("started_at")),
        breaks=Sum("break_minutes"),
        setup=Sum("setup_minutes"),
    )
    counts = SessionShot.objects.filter(session__in=finished).aggregate(
        kept=Sum("kept"), discarded=Sum("discarded")
    )
    length = (times["length"] or timedelta()) - timedelta(minutes=times["breaks"] or 0)
    return Totals(
        hours=length / timedelta(hours=1),
        setup_hours=(times["setup"] or 0) / 60,
        kept=counts["kept"] or 0,
        discarded=counts["discarded"] or 0,
    )


def totals_by_shot(production: Production) -> dict[int, ShotTotals]:
    """What was kept and discarded by shot id, running sessions included, in one query."""
    rows = (
        SessionShot.objects.filter(
            session__production=production, session__archived_at__isnull=True
        )
        .values("shot_id")
        .annotate(all_kept=Sum("kept"), all_discarded=Sum("discarded"))
        .order_by()
    )
    return {row["shot_id"]: ShotTotals(row["all_kept"], row["all_discarded"]) for row in rows}


def totals_by_day(
    production: Production, first: date | None = None, last: date | None = None
) -> tuple[DayTotals, ...]:
    """The shooting days of a production, oldest first, in one query.

    Between `first` and `last` (both included) where given. A day with only a running session
    shows with totals of 0.
    """
    sessions = Session.objects.current().filter(production=production)
    if first:
        sessions = sessions.filter(day__gte=first)
    if last:
        sessions = sessions.filter(day__lte=last)
    rows = _with_output(sessions.select_related("setup")).order_by("day", "started_at")
    by_day: dict[date, list[Session]] = {}
    for session in rows:
        by_day.setdefault(session.day, []).append(session)
    return tuple(DayTotals(day, _add_up(those), tuple(those)) for day, those in by_day.items())


@dataclass(frozen=True)
class SessionList:
    """The sessions of a production by day, newest first, one page of days at a time."""

    production: Production
    running: Session | None
    totals: Totals
    days: tuple[DayTotals, ...]
    page: Page
    archived: int


def sessions(production: Production, page_number: str | int | None) -> SessionList:
    """The list of sessions; its queries do not grow with history."""
    days = Session.objects.current().filter(production=production).order_by("-day")
    page = Paginator(days.values_list("day", flat=True).distinct(), DAYS_ON_A_PAGE).get_page(
        page_number
    )
    shown = list(page.object_list)
    return SessionList(
        production=production,
        running=running_session(production),
        totals=totals_of_production(production),
        days=totals_by_day(production, shown[-1], shown[0])[::-1] if shown else (),
        page=page,
        archived=Session.objects.filter(production=production, archived_at__isnull=False).count(),
    )


def archived_sessions(production: Production) -> QuerySet:
    """Sessions put aside, the latest first."""
    aside = Session.objects.filter(production=production, archived_at__isnull=False)
    return _with_output(aside).order_by("-archived_at")


def countable_shots(production: Production, session: Session | None = None) -> list[Shot]:
    """Shots a session may have worked on: those in the film, and those it counted already."""
    shots = Shot.objects.filter(production=production).select_related("setup")
    in_film = shots.in_film()
    if session is None:
        return list(in_film)
    return list((in_film | shots.filter(output__session=session)).distinct())


def running_session(production: Production) -> Session | None:
    """The session that is running in this production, if one is."""
    return Session.objects.open().filter(production=production).select_related("setup").first()


def open_sessions() -> list[Session]:
    """Every session begun and not yet finished, with its production."""
    return list(Session.objects.open().select_related("production"))


@dataclass(frozen=True)
class Tally:
    """One shot in one session: what this session took, and where the shot stands in all."""

    shot: Shot
    kept: int = 0
    discarded: int = 0

    @property
    def left(self) -> int:
        return max(self.shot.budget - self.shot.kept, 0)

    @property
    def beyond(self) -> int:
        """Kept pictures beyond the budget: allowed, and said."""
        return max(self.shot.kept - self.shot.budget, 0)

    @property
    def may_be_done(self) -> bool:
        """The budget is reached and nobody has said yet that the shot is done."""
        return not self.left and self.shot.status in Shot.LEFT


@dataclass(frozen=True)
class SessionTotals:
    """What one session has taken, and where its shots stand against their budgets."""

    kept: int
    discarded: int
    in_film: int
    budget: int


@dataclass(frozen=True)
class RunningPage:
    """A session beside the set."""

    session: Session
    tallies: tuple[Tally, ...]
    totals: SessionTotals
    others: tuple[Shot, ...]
    checks: tuple[SessionCheck, ...]
    incidents: tuple[Incident, ...]
    locks: tuple[Lock, ...]
    worked: timedelta

    @property
    def length(self) -> str:
        """Since the start, breaks left out, in words."""
        return spoken(self.worked)

    @property
    def is_long(self) -> bool:
        """So long that somebody probably forgot to finish."""
        return self.worked > LONG

    @property
    def unticked(self) -> int:
        return sum(check.ticked_at is None for check in self.checks)


def _counted_shots(session: Session) -> dict[int, SessionShot]:
    return {output.shot_id: output for output in session.output.all()}


def _tally(shot: Shot, output: SessionShot | None) -> Tally:
    return Tally(shot, output.kept, output.discarded) if output else Tally(shot)


def _is_here(shot: Shot, session: Session, counted: dict, wanted: int | None) -> bool:
    in_setup = session.setup_id is not None and shot.setup_id == session.setup_id
    return shot.pk in counted or shot.pk == wanted or in_setup


def session_totals(session: Session, wanted: int | None = None) -> SessionTotals:
    """What the session has taken so far, and how its shots stand, in two queries."""
    counted = _counted_shots(session)
    shots = Shot.objects.in_film().filter(production=session.production_id).with_counts()
    return _session_totals(
        [shot for shot in shots if _is_here(shot, session, counted, wanted)], counted
    )


def _session_totals(shots: list[Shot], counted: dict[int, SessionShot]) -> SessionTotals:
    return SessionTotals(
        kept=sum(output.kept for output in counted.values()),
        discarded=sum(output.discarded for output in counted.values()),
        in_film=sum(min(shot.kept, shot.budget) for shot in shots),
        budget=sum(shot.budget for shot in shots),
    )


def running_page(session: Session, now: datetime, wanted: int | None = None) -> RunningPage:
    """The page of a running session: the shots of its set-up, those it counted, and `wanted`."""
    counted = _counted_shots(session)
    shots = list(Shot.objects.in_film().filter(production=session.production_id).with_counts())
    here = [shot for shot in shots if _is_here(shot, session, counted, wanted)]
    # What was done before tonight stands last; what is finished tonight keeps its place.
    here.sort(key=lambda shot: shot.is_done and shot.pk not in counted)
    here_ids = {shot.pk for shot in here}
    return RunningPage(
        session=session,
        tallies=tuple(_tally(shot, counted.get(shot.pk)) for shot in here),
        totals=_session_totals(here, counted),
        others=tuple(shot for shot in shots if shot.pk not in here_ids),
        checks=tuple(session.checks.select_related("ticked_by")),
        incidents=incidents(session),
        locks=lock_card(session.setup) if session.setup else (),
        worked=max(worked(session.started_at, now, session.break_minutes), timedelta()),
    )


def tally(session: Session, shot_id: int) -> Tally:
    """One shot as it stands in one session."""
    shot = Shot.objects.with_counts().get(pk=shot_id)
    return _tally(shot, session.output.filter(shot=shot_id).first())


def incidents(session: Session) -> tuple[Incident, ...]:
    """What went wrong in a session, in the order it did."""
    return tuple(session.incidents.select_related("shot", "by"))


@dataclass(frozen=True)
class SessionPage:
    """A finished session."""

    session: Session
    totals: Totals
    length: str
    people: tuple[Person, ...]
    output: tuple[SessionShot, ...]
    checks: tuple[SessionCheck, ...]
    incidents: tuple[Incident, ...]


def session_page(session: Session) -> SessionPage:
    """The page of a finished session."""
    output = tuple(session.output.select_related("shot").order_by("shot__position", "shot_id"))
    return SessionPage(
        session=session,
        totals=Totals(
            hours=session.hours,
            setup_hours=session.setup_minutes / 60,
            kept=sum(row.kept for row in output),
            discarded=sum(row.discarded for row in output),
        ),
        length=spoken(session.ended_at - session.started_at) if session.ended_at else "",
        people=tuple(session.people.all()),
        output=output,
        checks=tuple(session.checks.select_related("ticked_by")),
        incidents=incidents(session),
    )
