"""Which sessions the pictures that are in none yet would make or fill."""

from collections import Counter
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Exists, OuterRef, Q

from shots.models import Picture, Production, Session, SessionShot, Shot
from shots.trade.picture_log import APART, Span, break_minutes, runs, span
from shots.trade.session_times import MINUTE, spoken, worked

FOLDED = 3  # sessions


@dataclass(frozen=True)
class PlannedShot:
    """What the log writes for one shot of one session, and what stands there now."""

    shot: Shot
    kept: int
    discarded: int
    kept_before: int = 0
    discarded_before: int = 0

    @property
    def was_counted(self) -> bool:
        """Somebody counted here already, and another number."""
        before = (self.kept_before, self.discarded_before)
        return before not in {(0, 0), (self.kept, self.discarded)}


@dataclass(frozen=True)
class PlannedSession:
    """A session to make, or one that stands (`session`) to fill, with the pictures for it."""

    session: Session | None
    times: Span
    break_minutes: int
    pictures: tuple[Picture, ...]
    shots: tuple[PlannedShot, ...]

    @property
    def is_running(self) -> bool:
        return self.session is not None and self.session.ended_at is None

    @property
    def active(self) -> timedelta:
        return worked(self.times.start, self.times.end, self.break_minutes)

    @property
    def length(self) -> str:
        """Active time in words."""
        return spoken(self.active)


@dataclass(frozen=True)
class LogPlan:
    """What logging would write. `untimed` have no capture time, `ahead` one in the future."""

    sessions: tuple[PlannedSession, ...]
    untimed: int = 0
    ahead: int = 0

    @property
    def pictures(self) -> int:
        return sum(len(planned.pictures) for planned in self.sessions)

    @property
    def left_out(self) -> int:
        return self.untimed + self.ahead

    @property
    def is_long(self) -> bool:
        """Sessions of many days; a page folds them away."""
        return len(self.sessions) > FOLDED

    @property
    def is_empty(self) -> bool:
        return not self.sessions and not self.left_out


def log_plan(production: Production, now: datetime) -> LogPlan:
    """Sessions by capture time: those that stand are filled, the rest become new ones."""
    pictures = _unlogged(production)
    timed = sorted((p for p in pictures if p.taken_at), key=lambda p: p.taken_at)
    ahead = [p for p in timed if p.taken_at > now + MINUTE]
    timed = timed[: len(timed) - len(ahead)]
    sessions = _near(production, timed)
    fills: dict[Session, list[Picture]] = {}
    rest = []
    for picture in timed:
        session = next((s for s in sessions if _span(s, now).holds(picture.taken_at)), None)
        if session:
            fills.setdefault(session, []).append(picture)
        else:
            rest.append(picture)
    fresh = []
    for run in _runs_of(rest, [_span(session, now) for session in sessions]):
        session = _extended(run, sessions)
        if session:
            fills.setdefault(session, []).extend(run)
        else:
            fresh.append(run)
    planned = [_filled(session, found) for session, found in fills.items()]
    planned += [_new(run, sessions) for run in fresh]
    return LogPlan(
        sessions=tuple(sorted(planned, key=lambda one: one.times.start)),
        untimed=len(pictures) - len(timed) - len(ahead),
        ahead=len(ahead),
    )


def plan_into(session: Session, now: datetime) -> LogPlan:
    """Everything unlogged into one session a person chose; its times stay as they are."""
    pictures = _unlogged(session.production)
    if not pictures:
        return LogPlan(())
    times = _span(session, now)
    return LogPlan((_planned(session, times, session.break_minutes, pictures),))


def _unlogged(production: Production) -> list[Picture]:
    return list(
        Picture.objects.unlogged()
        .filter(shot__production=production, shot__archived_at__isnull=True)
        .only("shot", "taken_at", "verdict")
        .prefetch_related("shot")
    )


def _near(production: Production, timed: list[Picture]) -> list[Session]:
    if not timed:
        return []
    return list(
        Session.objects.current()
        .filter(production=production, started_at__lt=timed[-1].taken_at + APART)
        .filter(Q(ended_at__isnull=True) | Q(ended_at__gt=timed[0].taken_at - APART))
        .annotate(has_pictures=Exists(Picture.objects.filter(session=OuterRef("pk"))))
        .order_by("started_at")
    )


def _span(session: Session, now: datetime) -> Span:
    return Span(session.started_at, session.ended_at or max(now, session.started_at) + MINUTE)


def _runs_of(pictures: list[Picture], taken_up: list[Span]) -> list[list[Picture]]:
    found, at = [], 0
    for run in runs([picture.taken_at for picture in pictures], taken_up):
        found.append(pictures[at : at + len(run)])
        at += len(run)
    return found


def _extended(run: list[Picture], sessions: list[Session]) -> Session | None:
    """A finished session made of pictures that this run goes on with, or leads up to."""
    for session in sessions:
        if not session.has_pictures or session.ended_at is None:
            continue
        follows = timedelta(0) <= run[0].taken_at - session.ended_at <= APART
        leads = timedelta(0) <= session.started_at - run[-1].taken_at <= APART
        between = [
            other
            for other in sessions
            if other != session
            and min(run[0].taken_at, session.started_at) < other.started_at
            and other.started_at < max(run[-1].taken_at, session.started_at)
        ]
        if (follows or leads) and not between:
            return session
    return None


def _new(run: list[Picture], sessions: list[Session]) -> PlannedSession:
    first, last = run[0].taken_at, run[-1].taken_at
    after = max((s.ended_at for s in sessions if s.ended_at and s.ended_at <= first), default=None)
    before = min((s.started_at for s in sessions if s.started_at > last), default=None)
    times = [picture.taken_at for picture in run]
    return _planned(None, span(times, after, before), break_minutes(times), run)


def _filled(session: Session, new: list[Picture]) -> PlannedSession:
    """Times a person gave stay, unless pictures lie outside them; so do breaks a person gave."""
    if session.ended_at is None:
        now = max([session.started_at, *(p.taken_at for p in new)]) + MINUTE
        return _planned(session, Span(session.started_at, now), session.break_minutes, new)
    times = [picture.taken_at for picture in new]
    stood = list(session.pictures.filter(taken_at__isnull=False).values_list("taken_at", flat=True))
    reach = span(times, None, None)
    inside = session.started_at <= min(times) and max(times) <= session.ended_at
    whole = (
        Span(session.started_at, session.ended_at)
        if inside
        else Span(min(session.started_at, reach.start), max(session.ended_at, reach.end))
    )
    measured = bool(stood) and session.break_minutes == break_minutes(stood)
    breaks = break_minutes([*stood, *times]) if measured else session.break_minutes
    return _planned(session, whole, breaks, new)


def _planned(
    session: Session | None, times: Span, breaks: int, pictures: list[Picture]
) -> PlannedSession:
    counted = {}
    logged = Counter()
    if session is not None:
        counted = {row.shot_id: row for row in SessionShot.objects.filter(session=session)}
        logged = Counter(session.pictures.values_list("shot_id", "verdict"))
    logged += Counter((picture.shot_id, picture.verdict) for picture in pictures)
    shots = {picture.shot_id: picture.shot for picture in pictures}
    return PlannedSession(
        session=session,
        times=times,
        break_minutes=breaks,
        pictures=tuple(pictures),
        shots=tuple(
            _planned_shot(shot, logged, counted.get(shot.pk))
            for shot in sorted(shots.values(), key=lambda shot: (shot.position, shot.pk))
        ),
    )


def _planned_shot(shot: Shot, logged: Counter, stands: SessionShot | None) -> PlannedShot:
    """Kept is what the pictures say. Discarded is never lowered: many are deleted on the camera."""
    discarded = logged[shot.pk, Picture.Verdict.DISCARD]
    kept = logged[shot.pk, Picture.Verdict.KEEP] + logged[shot.pk, Picture.Verdict.LEAVE]
    if stands is None:
        return PlannedShot(shot, kept, discarded)
    return PlannedShot(shot, kept, max(discarded, stands.discarded), stands.kept, stands.discarded)
