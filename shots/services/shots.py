"""What a person does to a shot: add, change, copy, move, split, cut, retake, put aside."""

import uuid
from dataclasses import replace
from datetime import datetime

from django.conf import settings
from django.core.files.base import ContentFile
from django.db import transaction

from shots.models import Production, Shot
from shots.storyboard import StoryboardError, as_jpeg
from shots.trade.budget import BudgetError, ShotLength
from shots.trade.shot_codes import free_code
from shots.trade.split import split_length
from studio import services as house
from studio.errors import NotPossible
from studio.trade.timecode import seconds_and_frames


@transaction.atomic
def add_shot(production: Production, fields: dict) -> Shot:
    """Add a shot at the end of the film. Raises NotPossible where its code is taken."""
    order = _locked_order(production)
    _refuse_taken_code(production, fields["code"])
    last = order[-1].position + 1 if order else 0
    return Shot.objects.create(production=production, position=last, **fields)


@transaction.atomic
def change_shot(shot: Shot, read_version: int, fields: dict) -> Shot:
    """Change a shot. Raises EditedMeanwhile, or NotPossible where its code is taken."""
    _lock(shot.production)
    _refuse_taken_code(shot.production, fields["code"], but=shot)
    return house.save_changes(shot, read_version, fields)


@transaction.atomic
def duplicate_shot(shot: Shot) -> Shot:
    """A copy right after the shot, still to shoot. Its pictures stay with the first."""
    copy = _copy(shot, status=Shot.Status.TO_SHOOT)
    _place(copy, shot, after=True)
    return copy


@transaction.atomic
def move_shot(shot: Shot, neighbour: Shot, after: bool) -> None:
    """Put a shot right before or after a neighbour in the order of the film."""
    _place(shot, neighbour, after)


@transaction.atomic
def split_shot(shot: Shot, first_frames: int) -> tuple[Shot, Shot]:
    """Split a shot after so many frames. The pictures kept, and the agreed budget, stay with it.

    Raises NotPossible at "at" unless both parts get a frame.
    """
    _lock(shot.production)
    first = Shot.objects.get(pk=shot.pk)
    try:
        before, after = split_length(first.length, first_frames)
    except BudgetError as error:
        rate = shot.production.rate
        whole = seconds_and_frames(first.screen_frames, rate)
        at = seconds_and_frames(first_frames, rate)
        raise NotPossible(
            f"The shot is {whole} long, so it cannot be split at {at}. Give a shorter length.", "at"
        ) from error
    status = Shot.Status.CUT if first.status == Shot.Status.CUT else Shot.Status.TO_SHOOT
    second = _copy(first, status=status, **_length_fields(after))
    first = house.save_changes(first, first.version, _length_fields(before))
    _place(second, first, after=True)
    return first, second


@transaction.atomic
def cut_shot(shot: Shot) -> Shot:
    """Take a shot out of the film. It keeps its row, and can come back."""
    return _set(shot, status=Shot.Status.CUT)


@transaction.atomic
def bring_back_shot(shot: Shot) -> Shot:
    """Put a cut shot back in the film, with the status its pictures speak for."""
    counted = _counted(shot)
    if counted.kept >= counted.budget:
        status = Shot.Status.SHOT
    elif counted.retaken_pictures:
        status = Shot.Status.TO_RETAKE
    else:
        status = Shot.Status.SHOOTING if counted.kept else Shot.Status.TO_SHOOT
    return _set(shot, status=status)


@transaction.atomic
def agree_length(shot: Shot, screen_frames: int, pictures_more: int) -> Shot:
    """Give a shot the length agreed with the client; `pictures_more` are added to its budget.

    A shot that was put aside comes back; one that was done or cut is to be shot on where pictures
    are missing. Raises NotPossible where its holds do not fit any more.
    """
    _lock(shot.production)
    current = _counted(shot)
    try:
        length = replace(current.length, screen_frames=screen_frames)
    except BudgetError as error:
        raise NotPossible(f"Shot {current.code} was changed meanwhile. {error.sentence}") from error
    agreed = current.agreed_pictures
    agreed = length.pictures if agreed is None else max(agreed + pictures_more, 0)
    changed = _set(current, screen_frames=screen_frames, agreed_pictures=agreed)
    if changed.archived_at:
        restore_shot(changed)
    finished = changed.is_done or changed.status == Shot.Status.CUT
    return bring_back_shot(changed) if finished and current.kept < length.pictures else changed


@transaction.atomic
def agree_cut(shot: Shot, pictures_fewer: int) -> Shot:
    """Cut a shot by agreement with the client: its pictures leave the agreed budget too."""
    agreed = max((shot.agreed_pictures or 0) - pictures_fewer, 0)
    return _set(shot, status=Shot.Status.CUT, agreed_pictures=agreed)


@transaction.atomic
def mark_to_retake(shot: Shot, pictures: int) -> Shot:
    """Say that so many kept pictures must be taken again. Raises NotPossible at "pictures"."""
    _lock(shot.production)
    counted = _counted(shot)
    if not 1 <= pictures <= counted.kept:
        kept = f"{counted.kept} pictures are kept" if counted.kept else "no picture is kept yet"
        mend = f"write 1 to {counted.kept}" if counted.kept else "shoot it first"
        raise NotPossible(f"Of this shot {kept}: {mend}.", "pictures")
    return _set(
        counted,
        status=Shot.Status.TO_RETAKE,
        retaken_pictures=counted.retaken_pictures + pictures,
    )


@transaction.atomic
def archive_shot(shot: Shot, now: datetime) -> None:
    """Put a shot aside, out of the film and out of the list."""
    house.archive(shot, now)


@transaction.atomic
def restore_shot(shot: Shot) -> None:
    """Bring an archived shot back. Raises NotPossible where its code is taken meanwhile."""
    _lock(shot.production)
    _refuse_taken_code(shot.production, shot.code, but=shot)
    house.restore(shot)


def keep_storyboard(shot: Shot, content: bytes) -> Shot:
    """Keep a storyboard picture under a random name. Raises NotPossible at "picture".

    The file it replaces stays: the shot's history still points at it.
    """
    try:
        jpeg = as_jpeg(content, settings.LARGEST_STORYBOARD_BYTES)
    except StoryboardError as error:
        raise NotPossible(str(error), "picture") from error
    storage = Shot.storyboard.field.storage
    name = storage.save(f"storyboards/{uuid.uuid4().hex}.jpg", ContentFile(jpeg))
    with transaction.atomic():
        return _set(shot, storyboard=name)


@transaction.atomic
def remove_storyboard(shot: Shot) -> Shot:
    """Take the storyboard picture off a shot."""
    return _set(shot, storyboard="")


def _lock(production: Production) -> None:
    """One writer at a time changes the order and the codes of a film."""
    Production.objects.select_for_update().get(pk=production.pk)


def _locked_order(production: Production) -> list[Shot]:
    _lock(production)
    return list(production.shots.only("id", "position", "production_id"))


def _set(shot: Shot, **changes) -> Shot:
    return house.save_changes(shot, Shot.objects.only("version").get(pk=shot.pk).version, changes)


def _counted(shot: Shot) -> Shot:
    return Shot.objects.with_counts().get(pk=shot.pk)


def _refuse_taken_code(production: Production, code: str, but: Shot | None = None) -> None:
    taken = production.shots.current().filter(code__iexact=code)
    if taken.exclude(pk=but.pk if but else None).exists():
        raise NotPossible(f"Another shot has the code {code} already. Choose another.", "code")


def _copy(shot: Shot, **changes) -> Shot:
    _lock(shot.production)
    copy = Shot.objects.get(pk=shot.pk)
    copy.pk, copy._state.adding = None, True
    copy.code = free_code(shot.code, shot.production.shots.values_list("code", flat=True))
    copy.version, copy.retaken_pictures, copy.agreed_pictures = 1, 0, None
    copy.created_at = Shot._meta.get_field("created_at").get_default()
    for name, value in changes.items():
        setattr(copy, name, value)
    copy.save()
    return copy


def _place(shot: Shot, neighbour: Shot, after: bool) -> None:
    order = [other for other in _locked_order(shot.production) if other.pk != shot.pk]
    at = next(n for n, other in enumerate(order) if other.pk == neighbour.pk)
    order.insert(at + after, shot)
    renumber(order)


def renumber(order: list[Shot]) -> None:
    """Number shots in the order given, stored or not. Their versions stay: edits go on."""
    moved = []
    for position, shot in enumerate(order):
        if shot.position != position:
            shot.position = position
            moved.append(shot)
    stored = [shot for shot in moved if shot.pk]
    Shot.objects.bulk_update(stored, ["position"], batch_size=500)


def _length_fields(length: ShotLength) -> dict:
    return {
        "screen_frames": length.screen_frames,
        "handle_frames": length.handles,
        "held_frames": length.held_frames,
        "holds": length.holds,
        "reused_frames": length.reused_frames,
    }
