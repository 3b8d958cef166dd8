"""What a person decides about pictures: keep or discard, how long it is held, what was meant."""

from django.db import transaction
from django.db.models import F

from shots.models import Picture, Production, Session, SessionShot, Shot
from shots.services.session_counts import follow_status
from shots.trade.frame_order import Again, Shown, repeated
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
def put_on_screen(picture: Picture, frames: int | None, again: Again | None) -> None:
    """Say how long a picture stays on screen, and which pictures are shown again after it."""
    hold_picture(picture, frames)
    show_again(picture, again)


@transaction.atomic
def hold_picture(picture: Picture, frames: int | None) -> None:
    """Say for how many frames a picture stays on screen; None is the shot's own exposure."""
    if frames is not None and not 1 <= frames <= LONGEST_HOLD:
        raise NotPossible(f"{frames} frames: enter 1 to {LONGEST_HOLD}.", "frames")
    Picture.objects.filter(pk=picture.pk).update(frames=frames)


@transaction.atomic
def show_again(picture: Picture, again: Again | None) -> None:
    """Say which pictures, by number, are shown again after a picture; None is none of them.

    Raises NotPossible for numbers the shot has not, or for more than the shot is long.
    """
    shot = picture.shot
    if again is None:
        Picture.objects.filter(pk=picture.pk).update(again_from=None, again_to=None, again_times=0)
        return
    order = list(shot.pictures.slim())
    for number in (again.first, again.last):
        if not 1 <= number <= len(order):
            raise NotPossible(
                f"There is no picture {number}: the shot has {len(order)}.", "again_from"
            )
    kept = [
        Shown(number, one.frames or shot.exposure)
        for number, one in enumerate(order, 1)
        if not one.is_discarded
    ]
    frames = sum(one.frames for one in repeated(kept, again))
    longest = shot.screen_frames + shot.handle_frames
    if frames > longest:
        raise NotPossible(f"That is {frames} frames; the shot has {longest}.", "again_times")
    Picture.objects.filter(pk=picture.pk).update(
        again_from=order[again.first - 1],
        again_to=order[again.last - 1],
        again_times=again.times,
    )


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
