"""What a person does to the beats of a shot."""

from django.db import transaction

from shots.models import Beats, Shot
from shots.queries.camera_paper import length_fields
from shots.services.shots import change_shot
from shots.trade.beats import Beat
from shots.trade.budget import BudgetError
from studio.errors import EditedMeanwhile, NotPossible
from studio.services import save_changes


@transaction.atomic
def keep_beats(
    shot: Shot, read_version: int, text: str, beats: tuple[Beat, ...], set_length: bool
) -> None:
    """Keep what was written, and give the shot the length it comes to where asked.

    Raises EditedMeanwhile where somebody saved since, NotPossible for beats that make no shot.
    """
    shot = Shot.objects.select_for_update().get(pk=shot.pk)
    current = Beats.objects.filter(shot=shot).first()
    if current is None and read_version == 0:
        Beats.objects.create(shot=shot, text=text)
    elif current is None:
        raise EditedMeanwhile(Beats(shot=shot, version=0))
    else:
        save_changes(current, read_version, {"text": text})
    if set_length:
        _set_length(shot, beats)


def _set_length(shot: Shot, beats: tuple[Beat, ...]) -> None:
    if not beats:
        raise NotPossible("Write at least one beat before the shot takes its length.", "text")
    try:
        fields = length_fields(beats, shot)
    except BudgetError as error:
        raise NotPossible(error.sentence, "text") from error
    change_shot(shot, shot.version, fields | {"code": shot.code})
