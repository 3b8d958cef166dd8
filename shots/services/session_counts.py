"""Counting pictures while a session runs. Writes; never sees a request.

Pictures are counted by adding in the database, so that two people tapping at once lose nothing;
the counts enter the history when the session finishes.
"""

from django.db import transaction
from django.db.models import F

from shots.models import Session, SessionShot, Shot
from studio.errors import EditedMeanwhile, NotPossible

MOST_PICTURES = 100_000  # of one shot in one session: more is a slip of the finger
COUNTS = ("kept", "discarded")


@transaction.atomic
def add_pictures(session: Session, shot: Shot, count: str, by: int) -> None:
    """Add `by` (which may be negative) to a running session's `kept` or `discarded` of a shot.

    Added in the database: nobody's tap is lost. Raises NotPossible below 0 or beyond
    MOST_PICTURES.
    """
    output = _output(session, shot)
    fits = {f"{count}__gte": -by, f"{count}__lte": MOST_PICTURES - by}
    if not SessionShot.objects.filter(pk=output.pk, **fits).update(**{count: F(count) + by}):
        stands = getattr(output, count)
        raise NotPossible(
            f"{stands} {count} here; {by:+} would leave a number below 0 or over {MOST_PICTURES}."
        )
    follow_status(shot)


@transaction.atomic
def set_pictures(session: Session, shot: Shot, count: str, value: int, read: int) -> int:
    """Set a running session's `kept` or `discarded` of a shot to `value`; returns the difference.

    `read` is the number its reader saw. Raises EditedMeanwhile where another stands by now, so a
    number typed late never overwrites somebody's taps.
    """
    if not 0 <= value <= MOST_PICTURES:
        raise NotPossible(f"{value} pictures: enter 0 to {MOST_PICTURES}.", "value")
    output = _output(session, shot)
    stands = getattr(output, count)
    if stands == value:
        return 0
    changed = SessionShot.objects.filter(pk=output.pk, **{count: read}).update(**{count: value})
    if not changed:
        raise EditedMeanwhile(output)
    follow_status(shot)
    return value - stands


def _output(session: Session, shot: Shot) -> SessionShot:
    running(session)
    return SessionShot.objects.get_or_create(session=session, shot=shot)[0]


def follow_status(shot: Shot) -> None:
    """A shot with its first kept picture is *shooting*; with its last taken back, *to shoot*."""
    shot = Shot.objects.with_counts().get(pk=shot.pk)
    if shot.status == Shot.Status.TO_SHOOT and shot.photographed:
        _set_status(shot, Shot.Status.SHOOTING)
    elif shot.status == Shot.Status.SHOOTING and not shot.photographed:
        _set_status(shot, Shot.Status.TO_SHOOT)


def _set_status(shot: Shot, status: str) -> None:
    shot.status = status
    shot.version += 1
    shot.save(update_fields=["status", "version"])


@transaction.atomic
def mark_shot(shot: Shot, is_done: bool) -> Shot:
    """Say beside the set that a shot is *shot*, or that it is still *shooting*."""
    shot = Shot.objects.select_for_update().get(pk=shot.pk)
    if shot.status == Shot.Status.CUT:
        raise NotPossible(f"{shot.code} is cut from the film. Take it back in first.")
    wanted = Shot.Status.SHOT if is_done else Shot.Status.SHOOTING
    if shot.status != wanted:
        _set_status(shot, wanted)
    return shot


def running(session: Session) -> Session:
    """The session as it stands, locked; refused once it is finished."""
    session = Session.objects.select_for_update().get(pk=session.pk)
    if session.ended_at is not None or session.archived_at is not None:
        raise NotPossible("This session is finished. Correct it, or undo finishing it.")
    return session
