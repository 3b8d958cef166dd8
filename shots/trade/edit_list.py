"""A later edit beside the shots there are: what grew, shrank, appeared and went."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class EditedShot:
    """A shot as an edit has it: its code and its length in frames at the production's rate."""

    code: str
    frames: int


@dataclass(frozen=True)
class EditChange:
    """One difference: frames `before` (None: not in the film yet) and `after` (None: gone)."""

    code: str
    before: int | None
    after: int | None

    @property
    def frames(self) -> int:
        """Frames gained, below 0 for frames lost."""
        return (self.after or 0) - (self.before or 0)


@dataclass(frozen=True)
class EditComparison:
    """What a later edit changes, each list in the order of the film.

    `reordered`: the shots in both come in another order.
    """

    grew: tuple[EditChange, ...]
    shrank: tuple[EditChange, ...]
    appeared: tuple[EditChange, ...]
    went: tuple[EditChange, ...]
    same: int
    reordered: bool

    @property
    def frames(self) -> int:
        """Frames the whole film gains, below 0 for frames lost."""
        changes = self.grew + self.shrank + self.appeared + self.went
        return sum(change.frames for change in changes)


def compare(shots: Sequence[EditedShot], edit: Sequence[EditedShot]) -> EditComparison:
    """What taking over `edit` would change. Codes match whatever their case.

    Raises `ValueError` if a code stands twice on either side.
    """
    there, coming = _by_code(shots, "the film"), _by_code(edit, "the edit")
    both = [
        EditChange(there[key].code, there[key].frames, coming[key].frames)
        for key in coming
        if key in there
    ]
    return EditComparison(
        grew=tuple(change for change in both if change.frames > 0),
        shrank=tuple(change for change in both if change.frames < 0),
        appeared=tuple(
            EditChange(shot.code, None, shot.frames)
            for key, shot in coming.items()
            if key not in there
        ),
        went=tuple(
            EditChange(shot.code, shot.frames, None)
            for key, shot in there.items()
            if key not in coming
        ),
        same=sum(change.frames == 0 for change in both),
        reordered=[key for key in there if key in coming]
        != [key for key in coming if key in there],
    )


def _by_code(shots: Sequence[EditedShot], where: str) -> dict[str, EditedShot]:
    found: dict[str, EditedShot] = {}
    for shot in shots:
        key = shot.code.casefold()
        if key in found:
            raise ValueError(f"Shot {shot.code} is twice in {where}; rename or join them first.")
        found[key] = shot
    return found
