"""Who changed a shot or a session, what, and when; and a session as it stood."""

from collections import defaultdict
from dataclasses import dataclass, replace

from django.apps import apps

from shots.models import Session, SessionShot, Shot
from studio import changes
from studio.changes import Moment, Past
from studio.models import Person

# The counts a shot is given by the sessions are told with the sessions.
OF_SHOT = ("production", "storyboard", "agreed_pictures")
OF_SESSION = ("production", "paused_at")


def shot_moments(shot: Shot) -> list[Moment]:
    """What happened to a shot, newest first."""
    return changes.told(changes.moments(changes.stood(shot, OF_SHOT)))


def session_moments(session: Session) -> list[Moment]:
    """What happened to a session, to its people and to its counts, newest first."""
    people = _people_by_record(session)
    saves = [
        replace(one, texts={**one.texts, "people": ", ".join(p.name for p in people[one.pk])})
        for one in changes.stood(session, OF_SESSION)
    ]
    codes = dict(session.production.shots.values_list("pk", "code"))
    of_shots = changes.parts_moments(
        SessionShot.history.filter(session=session),
        ("session", "shot"),
        lambda record: f"{codes.get(record.shot_id, 'a shot')} ",
    )
    return changes.told(changes.moments(saves) + of_shots)


def _people_by_record(session: Session) -> dict[int, list[Person]]:
    people = defaultdict(list)
    for row in (
        apps.get_model("shots.HistoricalSession_people")
        .objects.filter(session=session)
        .select_related("person")
    ):
        people[row.history_id].append(row.person)
    return people


@dataclass(frozen=True)
class SessionStood:
    """A session with the values it had, and what its form is to begin with."""

    session: Session
    people: list[int] | None = None
    counts: dict[int, tuple[int, int]] | None = None


def session_as_it_stood(session: Session, past: Past | None) -> SessionStood:
    """A session with its people and its counts as they were; None where they are today's."""
    if past is None:
        return SessionStood(session)
    # Not until the record: only counts may have been saved after it.
    parts = SessionShot.history.filter(session=session, history_date__lte=past.at)
    counts = dict.fromkeys(session.output.values_list("shot_id", flat=True), (0, 0))
    for one in parts.order_by("history_date", "history_id"):  # the last one counts
        counts[one.shot_id] = (one.kept, one.discarded)
    people = [person.pk for person in _people_by_record(session)[past.record.history_id]]
    return SessionStood(changes.as_it_stood(session, past), people, counts)
