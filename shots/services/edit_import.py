"""Taking over what was chosen of an edit."""

from collections.abc import Collection, Sequence

from django.db import transaction

from shots.models import Difficulty, Production, Shot
from shots.queries.edit_import import Row, edit_page
from shots.services.plan import Hand
from shots.services.shots import add_shot, change_shot, cut_shot
from shots.trade.edit_list import EditedShot
from studio.errors import NotPossible
from studio.services import save_changes


@transaction.atomic
def take_over(
    production: Production,
    edit: Sequence[EditedShot],
    chosen: Collection[str],
    difficulty: Difficulty | None,
    take_order: bool,
    hand: Hand,
) -> int:
    """Make the chosen changes, named by the keys of their rows; returns how many.

    Raises NotPossible, with nothing changed, where the film is no longer as it was compared.
    """
    Production.objects.select_for_update().get(pk=production.pk)
    page = edit_page(production, edit, difficulty, hand.studio, hand.today)
    rows = {row.key: row for row in page.rows if not row.obstacle}
    if set(chosen) - rows.keys():
        raise NotPossible(
            "The film was changed since this was compared. Look at the comparison again: it now "
            "stands as below."
        )
    for key in chosen:
        _take(production, rows[key], difficulty)
    if take_order:
        _order(production, edit)
    return len(chosen)


def _take(production: Production, row: Row, difficulty: Difficulty | None) -> None:
    change = row.change
    if row.kind == "appeared":
        fields = {"difficulty": difficulty, "exposure": production.exposure}
        add_shot(production, fields | {"code": change.code, "screen_frames": change.after})
    elif row.kind == "went":
        cut_shot(row.shot)
    else:
        fields = {"code": row.shot.code, "screen_frames": change.after}
        if row.kind == "grew" and row.shot.is_done and row.pictures:
            fields["status"] = Shot.Status.SHOOTING
        change_shot(row.shot, row.shot.version, fields)


def _order(production: Production, edit: Sequence[EditedShot]) -> None:
    """The order of the edit; shots that are not in it stay behind the one they followed."""
    place = {shot.code.casefold(): n for n, shot in enumerate(edit)}
    shots = list(production.shots.current())
    order, after = [], -1
    for n, shot in enumerate(shots):
        after = place.get(shot.code.casefold(), after)
        order.append((after, n, shot))
    for position, (_, _, shot) in enumerate(sorted(order, key=lambda row: row[:2])):
        if shot.position != position:
            save_changes(shot, shot.version, {"position": position})
