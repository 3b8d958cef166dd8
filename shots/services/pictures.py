"""What a person decides about pictures: keep or discard, how long it is held, what was meant."""

from django.db import transaction
from django.db.models import F

from shots.models import Picture, Production, Session, SessionShot, Shot
from shots.services.session_counts import follow_status
from studio.errors import NotPossible
from studio.services import save_changes

LONGEST_HOLD = 10_000  # frames


@transaction.atomic
def give_verdict(picture: Picture, verdict: str) -> str:
    """Keep, discard or leave a picture; its session counts along. Returns the verdict before."""
    if verdict not in Picture.Verdict.values:
        raise NotPossible("Choose one of: keep, discard, leave it.", "verdict")
    picture = Picture.objects.slim().select_for_update().get(pk=picture.pk)
    before, discarded_before = picture.verdict, picture.is_discarded
    picture.verdict = verdict
    picture.save(update_fields=["verdict"])
    change = picture.is_discarded - discarded_before
    if picture.session_id and change:
        _move_to_discarded(picture.session, picture.shot, change)
    return before


def _move_to_discarded(session: Session, shot: Shot, change: int) -> None:
    """One picture from kept to discarded (+1), or back (-1)."""
    output, _ = SessionShot.objects.select_for_update().get_or_create(session=session, shot=shot)
    output.kept = max(output.kept - change, 0)
    output.discarded = max(output.discarded + change, 0)
    if session.ended_at is None:
        SessionShot.objects.filter(pk=output.pk).update(
            kept=output.kept, discarded=output.discarded
        )
    else:
        output.save()  # a finished session's count enters its history
        Session.objects.filter(pk=session.pk).update(version=F("version") + 1)
    follow_status(shot)


@transaction.atomic
def hold_picture(picture: Picture, frames: int | None) -> None:
    """Say for how many frames a picture stays on screen; None is the shot's own exposure."""
    if frames is not None and not 1 <= frames <= LONGEST_HOLD:
        raise NotPossible(f"{frames} frames: enter 1 to {LONGEST_HOLD}.", "frames")
    Picture.objects.filter(pk=picture.pk).update(frames=frames)


def declare(shot: Shot, read_version: int, camera_moves: bool, light_changes: bool) -> Shot:
    """Say what a shot is meant to do, so that it is not flagged. Judge the shot again after."""
    return save_changes(
        shot, read_version, {"camera_moves": camera_moves, "light_changes": light_changes}
    )


@transaction.atomic
def keep_originals(production: Production, wanted: bool) -> None:
    """Say whether original files are kept from now on."""
    row = Production.objects.select_for_update().get(pk=production.pk)
    row.keep_originals = wanted
    row.version += 1
    row.save(update_fields=["keep_originals", "version"])
