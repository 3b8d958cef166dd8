"""What the paper beside the camera says: exposure sheets, camera reports, beats."""

from collections import defaultdict
from dataclasses import dataclass

from django.utils import timezone

from shots.documents import camera_report as report
from shots.documents.exposure_sheet import ExposureSheet
from shots.models import Beats, Incident, Picture, Production, Session, Setup, Shot
from shots.queries.setups import lock_card
from shots.trade.beats import (
    Beat,
    SheetLine,
    WalkPose,
    blank_lines,
    length_of,
    read_beats,
    sheet_lines,
    walk_poses,
)
from shots.trade.call import day_words
from shots.trade.picture_record import name_ranges
from shots.trade.pictures import flag_in_words
from shots.trade.session_times import spoken

SESSIONS_SHOWN = 20
DECIDED = {
    Picture.Verdict.LEAVE: "",
    Picture.Verdict.KEEP: "looked at and kept",
    Picture.Verdict.DISCARD: "discarded",
}
KEY_POSES_SHOWN = 200  # of a walk: more belong on the exposure sheet


@dataclass(frozen=True)
class CameraPaper:
    """The page of everything to print beside the camera."""

    production: Production
    shots: tuple[Shot, ...]
    with_beats: frozenset[int]
    sessions: tuple[Session, ...]


def camera_paper(production: Production) -> CameraPaper:
    """Shots and finished sessions there is paper for."""
    shots = tuple(production.shots.in_film())
    beats = Beats.objects.filter(shot__in=shots).exclude(text="")
    sessions = Session.objects.finished().filter(production=production).select_related("setup")
    return CameraPaper(
        production=production,
        shots=shots,
        with_beats=frozenset(beats.values_list("shot_id", flat=True)),
        sessions=tuple(sessions[:SESSIONS_SHOWN]),
    )


def exposure_sheet_of(shot: Shot, blank: bool) -> ExposureSheet:
    """A shot's exposure sheet: filled in from its beats, or its frames to fill in by hand.

    Raises BeatError for beats that can no longer be read.
    """
    beats: tuple[Beat, ...] = ()
    written = Beats.objects.filter(shot=shot).first()
    if written and not blank:
        beats = read_beats(written.text, shot.production.rate, shot.exposure)
    lines = sheet_lines(beats, shot.exposure) if beats else blank_lines(shot.screen_frames)
    return _sheet(shot.production, shot.code, str(shot.setup or ""), shot.exposure, lines)


def blank_sheet(production: Production, frames: int, exposure: int) -> ExposureSheet:
    """An exposure sheet without a shot."""
    return _sheet(production, "…", "", exposure, blank_lines(frames))


def _sheet(
    production: Production, shot: str, setup: str, exposure: int, lines: tuple[SheetLine, ...]
) -> ExposureSheet:
    return ExposureSheet(
        production=production.title,
        shot=shot,
        setup=setup,
        rate=production.rate,
        exposure=exposure,
        lines=lines,
    )


@dataclass(frozen=True)
class BeatsRead:
    """Beats with what they come to, beside the shot as it stands."""

    beats: tuple[Beat, ...]
    frames: int
    pictures: int
    walks: tuple[tuple[Beat, tuple[WalkPose, ...]], ...]
    agrees: bool


def beats_read(beats: tuple[Beat, ...], shot: Shot) -> BeatsRead:
    """Frames and pictures of the shot these beats make. Raises BudgetError."""
    length = length_of(beats, shot.exposure, shot.handle_frames)
    return BeatsRead(
        beats=beats,
        frames=length.screen_frames,
        pictures=length.pictures,
        walks=tuple((beat, _key_poses(beat)) for beat in beats if beat.walk),
        agrees=length_fields(beats, shot)
        == {
            name: getattr(shot, name)
            for name in ("screen_frames", "held_frames", "holds", "reused_frames")
        },
    )


def length_fields(beats: tuple[Beat, ...], shot: Shot) -> dict[str, int]:
    """What these beats make of the shot's length."""
    length = length_of(beats, shot.exposure, shot.handle_frames)
    return {
        "screen_frames": length.screen_frames,
        "held_frames": length.held_frames,
        "holds": length.holds,
        "reused_frames": length.reused_frames,
    }


def _key_poses(beat: Beat) -> tuple[WalkPose, ...]:
    poses = [pose for step in walk_poses(beat.walk) for pose in step if pose.key]
    return tuple(poses[:KEY_POSES_SHOWN])


# Camera report


def camera_report_of(session: Session) -> report.CameraReport:
    """The record of one session, in the words and figures that are read."""
    output = list(session.output.select_related("shot__setup").order_by("shot__position"))
    setups = {row.shot.setup for row in output if row.shot.setup} | (
        {session.setup} if session.setup else set()
    )
    pictures = list(
        session.pictures.slim().select_related("shot").order_by("shot__position", "place")
    )
    names: dict[int, list[str]] = defaultdict(list)
    for picture in pictures:
        names[picture.shot_id].append(picture.name)
    start = timezone.localtime(session.started_at)
    end = timezone.localtime(session.ended_at)
    hours = (
        f"{start:%H:%M} to {end:%H:%M}, {spoken(session.duration)}; set-up "
        f"{session.setup_minutes} min, breaks {session.break_minutes} min"
    )
    return report.CameraReport(
        production=session.production.title,
        date=day_words(session.day),
        hours=hours,
        people=", ".join(person.name for person in session.people.all()),
        taken=tuple(
            report.ShotTaken(
                shot=row.shot.code,
                setup=row.shot.setup.code if row.shot.setup else "",
                pictures=name_ranges(names[row.shot_id]),
                kept=row.kept,
                discarded=row.discarded,
            )
            for row in output
        ),
        lock_cards=tuple(
            report.LockCard(
                str(setup),
                tuple(
                    (lock.label, lock.value or "not written down")
                    for lock in _locked(setup, session)
                ),
            )
            for setup in sorted(setups, key=lambda setup: (setup.position, setup.pk))
        ),
        incidents=tuple(
            _incident(row) for row in session.incidents.select_related("shot").order_by("at", "id")
        ),
        flagged=tuple(_flagged(one) for one in pictures if one.is_flagged) if pictures else None,
        notes=session.notes,
    )


def _flagged(picture: Picture) -> report.PictureFlagged:
    """A picture with a fault, why, and what was decided about it."""
    faults = (flag for flag in picture.flags if flag.get("level") != "info")
    reason = "; ".join(map(flag_in_words, faults))
    decided = DECIDED[picture.verdict]
    return report.PictureFlagged(
        picture.name, picture.shot.code, f"{reason} ({decided})" if decided else reason
    )


def _locked(setup: Setup, session: Session):
    """The lock card as it stood when the session ended."""
    then = setup.history.filter(history_date__lte=session.ended_at).first()
    return lock_card(then or setup)


def _incident(row: Incident) -> report.Incident:
    what = row.get_kind_display()
    return report.Incident(
        what=f"{what}: {row.note}" if row.note else what,
        shot=row.shot.code if row.shot else "",
        frame=str(row.picture) if row.picture is not None else "",
        time=f"{timezone.localtime(row.at):%H:%M}",
    )
