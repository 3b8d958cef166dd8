"""Judging a shot's pictures, from the measures that were kept."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime

from django.db import OperationalError, transaction

from shots.models import Picture, Shot
from shots.trade.picture_record import lock
from shots.trade.pictures import Declared, Judged, LockCard, Measure, judge
from studio.errors import NotPossible

# A new picture is judged at once beside the first and these many before it: in a blink, and rough.
NEAR_BEFORE = 12
NEAR_AFTER = 2
JUDGED = ("flags", "found", "not_measurable", "is_flagged")


def judge_shot(shot: Shot, now: datetime) -> int:
    """Judge all pictures of a shot that were not discarded, and keep what was found.

    Returns how many are flagged. About 6 ms a picture, outside any transaction: pictures that come
    in meanwhile are judged the next time. Raises NotPossible where the database cannot be written.
    """
    pictures = list(shot.pictures.kept())
    changed = _judge(shot, pictures)
    with _room_to_write():
        Picture.objects.bulk_update(changed, JUDGED, batch_size=100)
        Picture.objects.filter(pk__in=[picture.pk for picture in pictures]).update(judged_at=now)
    return sum(picture.is_flagged for picture in pictures)


def judge_arrival(picture: Picture) -> list[Picture]:
    """Judge a picture that just came in, roughly, beside the first and its neighbours.

    Returns the pictures that got other flags. Those of a whole judgement stand until the next.
    Raises NotPossible where the database cannot be written.
    """
    kept = picture.shot.pictures.kept()
    others = kept.exclude(pk=picture.pk)
    before = list(others.filter(place__lte=picture.place).order_by("-place", "-id")[:NEAR_BEFORE])
    after = list(others.filter(place__gt=picture.place)[:NEAR_AFTER])
    near = [*before[::-1], picture, *after]
    first = kept.first()
    if first and first.pk not in {one.pk for one in near}:
        near.insert(0, first)
    reach = {picture.pk, *(one.pk for one in [*before[:NEAR_AFTER], *after])}
    changed = [
        one for one in _judge(picture.shot, near) if one.pk in reach and one.judged_at is None
    ]
    with _room_to_write():
        Picture.objects.bulk_update(changed, JUDGED)
    return changed


@contextmanager
def _room_to_write() -> Iterator[None]:
    """One transaction; a database that cannot be written is said in a sentence."""
    try:
        with transaction.atomic():
            yield
    except OperationalError as error:
        raise NotPossible(
            f"The pictures are in, but not judged: {error}. Make room, then judge again."
        ) from error


def lock_of(shot: Shot) -> LockCard:
    """What the shot's set-up locks; automatic exposure and white balance break it in any case."""
    setup = shot.setup
    if setup is None:
        return lock()
    return lock(setup.iso, setup.shutter, setup.aperture, setup.focal_length_mm)


def _judge(shot: Shot, pictures: list[Picture]) -> list[Picture]:
    """Puts what was found on each picture; returns those on which it changed."""
    if not pictures:
        return []
    measures = []
    for picture in pictures:
        measures.append(Measure.from_bytes(bytes(picture.measure)))
        del picture.measure  # so that thousands do not stand in memory twice
    report = judge(
        measures,
        Declared(camera_move=shot.camera_moves, light_change=shot.light_changes),
        lock_of(shot),
    )
    return [
        picture
        for picture, judged in zip(pictures, report.frames, strict=True)
        if _put(picture, judged)
    ]


def _put(picture: Picture, judged: Judged) -> bool:
    stood = [getattr(picture, name) for name in JUDGED]
    picture.flags = judged.flags
    picture.found = judged.measure
    picture.not_measurable = judged.not_measurable
    picture.is_flagged = judged.flagged
    return stood != [getattr(picture, name) for name in JUDGED]
