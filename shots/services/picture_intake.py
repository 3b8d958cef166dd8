"""Pictures come in: each is decoded and measured before anything of it is kept.

A picture is known by its hash, so the same file is never in a shot twice, however often it is sent
and by however many people.
"""

from collections.abc import Iterable
from dataclasses import asdict, dataclass, field
from datetime import datetime
from typing import IO

from django.core.files.base import ContentFile
from django.db import IntegrityError, OperationalError, transaction
from django.db.models.fields.files import FieldFile
from django.utils import timezone

from shots.measuring import Prepared, prepare
from shots.models import Picture, Shot
from shots.reading import PictureError
from shots.trade.picture_record import place
from studio.errors import NotPossible
from studio.models import Person

MOST_PICTURES = 20_000  # of one shot: a quarter of an hour on ones is more than anybody shoots

FIRST_YEAR, LAST_YEAR = 1990, 9999  # no digital camera's clock, once set, shows another


@dataclass(frozen=True)
class Taken:
    """One picture that is in the shot now; `also_in` names other shots with the same file."""

    picture: Picture
    is_new: bool
    also_in: tuple[str, ...] = ()

    @property
    def sentence(self) -> str:
        """What is worth saying; empty for an ordinary new picture."""
        if not self.is_new:
            return f"{self.picture.name} is in {self.picture.shot.code} already."
        if self.also_in:
            return f"{self.picture.name} is in {' and '.join(self.also_in)} as well."
        return ""


def take_in(
    shot: Shot, prepared: Prepared, by: Person | None, now: datetime, original: bytes = b""
) -> Taken:
    """Keep one prepared picture in a shot, in one transaction; its file first, its row then.

    Where the very file is in the shot already nothing is written. Raises PictureError where there
    is no space left, and NotPossible for a shot that takes no pictures.
    """
    facts = prepared.measure.facts
    known = find(shot, facts.sha256)
    if known:
        return Taken(known, is_new=False)
    _check_takes_pictures(shot)
    taken_at = _moment(facts.taken)
    day = timezone.localtime(taken_at or now).date()
    picture = Picture(
        shot=shot,
        sha256=facts.sha256,
        name=facts.name,
        place=place(day, facts.name),
        day=day,
        taken_at=taken_at,
        width=facts.width,
        height=facts.height,
        settings=asdict(facts.settings),
        brightness=prepared.brightness,
        measure=prepared.measure.to_bytes(),
        added_at=now,
        added_by=by,
    )
    try:
        _store(picture.thumbnail, prepared.thumbnail)
        if original and shot.production.keep_originals:
            _store(picture.original, original)
        with transaction.atomic():
            picture.save()
    except IntegrityError:  # somebody else sent the same file at the same moment
        _forget_files(picture)
        return Taken(find(shot, facts.sha256), is_new=False)
    except (OSError, OperationalError) as error:
        _forget_files(picture)
        raise PictureError(
            f"{facts.name} could not be kept: {_reason(error)}. Make room, then send it again."
        ) from error
    del picture.measure  # read again when asked for, so that thousands do not fill the memory
    return Taken(picture, is_new=True, also_in=_other_shots(picture))


@dataclass
class Outcome:
    """What became of several files: new pictures, and a sentence for each thing worth saying."""

    new: list[Picture] = field(default_factory=list)
    known: int = 0
    refused: list[str] = field(default_factory=list)
    said: list[str] = field(default_factory=list)


def take_in_files(
    shot: Shot, files: Iterable[tuple[str, IO[bytes]]], by: Person | None, now: datetime
) -> Outcome:
    """Take in named files one after the other; a bad one is said and the rest go in."""
    outcome = Outcome()
    for name, file in files:
        try:
            prepared = prepare(file, name)
            original = b""
            if shot.production.keep_originals:
                file.seek(0)
                original = file.read()
            taken = take_in(shot, prepared, by, now, original)
        except PictureError as error:
            outcome.refused.append(str(error))
            continue
        if taken.is_new:
            outcome.new.append(taken.picture)
        else:
            outcome.known += 1
        if taken.sentence:
            outcome.said.append(taken.sentence)
    return outcome


def find(shot: Shot, sha256: str) -> Picture | None:
    """The picture of that hash in the shot."""
    return shot.pictures.slim().select_related("shot").filter(sha256=sha256).first()


def _check_takes_pictures(shot: Shot) -> None:
    if shot.archived_at is not None:
        raise NotPossible(f"{shot.code} is archived. Bring it back first.")
    if shot.status == Shot.Status.CUT:
        raise NotPossible(f"{shot.code} is cut from the film. Take it back in first.")
    if shot.pictures.count() >= MOST_PICTURES:
        raise NotPossible(f"{shot.code} has {MOST_PICTURES} pictures, and more do not fit.")


def _moment(taken: datetime | None) -> datetime | None:
    """The camera's clock, read as the studio's own; None where it was plainly never set."""
    if taken is None or not FIRST_YEAR <= taken.year < LAST_YEAR:
        return None
    return timezone.make_aware(taken)


def _other_shots(picture: Picture) -> tuple[str, ...]:
    others = (
        Picture.objects.filter(sha256=picture.sha256)
        .exclude(shot=picture.shot_id)
        .values_list("shot__production__code", "shot__code")[:5]
    )
    return tuple(f"{production} {shot}" for production, shot in others)


def _store(file: FieldFile, content: bytes) -> None:
    """Write a file under its random name; what could not be written whole is removed again."""
    name = file.field.generate_filename(file.instance, "")
    try:
        file.name = file.storage.save(name, ContentFile(content))
    except OSError:
        file.storage.delete(name)
        raise


def _forget_files(picture: Picture) -> None:
    for file in (picture.thumbnail, picture.original):
        if file:
            file.storage.delete(file.name)


def _reason(error: Exception) -> str:
    text = getattr(error, "strerror", None) or str(error)
    return text[:1].lower() + text[1:]
