"""A shot list made into sequences: what shares a set-up, a difficulty and an exposure is one."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from clients.trade.quoting.option import Sequence
from shots.trade.budget import BudgetError
from shots.trade.shot_list import ListedShot, ListError, ShotRow, read

LONGEST_NAME = 60  # of a set-up, in the name of its sequence
# Exact to the frame at any rate up to 500 frames a second.
_THOUSANDTH = Decimal("0.001")


@dataclass(frozen=True)
class ListedFilm:
    """The shots of a list, and a sentence for each row that cannot be, naming its line."""

    shots: tuple[ListedShot, ...]
    faults: tuple[str, ...]


def listed_film(
    text: str, rate: Fraction, exposure: int, difficulties: Iterable[str], usual: str
) -> ListedFilm:
    """A shot list read; what it leaves out is `exposure` and the `usual` difficulty.

    Raises ListError for a list no row of which can be read.
    """
    known = {name.casefold(): name for name in difficulties}
    blank = ListedShot("", "", "", usual, 1, exposure, 0, 0, 0, 0, "")
    shots, faults = [], []
    for row in read(text, rate).rows:
        try:
            shots.append(_listed(row, blank, known))
        except ListError as error:
            faults.append(f"Line {row.line}: {error}")
    return ListedFilm(tuple(shots), tuple(faults))


def _listed(row: ShotRow, blank: ListedShot, known: dict[str, str]) -> ListedShot:
    if row.errors:
        raise ListError(" ".join(row.errors))
    if row.difficulty and row.difficulty.casefold() not in known:
        raise ListError(
            f"“{row.difficulty}” is not one of the studio’s difficulties: "
            f"{', '.join(known.values())}."
        )
    if row.difficulty:
        row = replace(row, difficulty=known[row.difficulty.casefold()])
    try:
        return row.over(blank)
    except BudgetError as error:
        raise ListError(error.sentence) from error


def sequences_from(shots: Iterable[ListedShot], rate: Fraction) -> tuple[Sequence, ...]:
    """One sequence for all shots of the same set-up, difficulty and exposure, in their order.

    A set-up counts once, in the first sequence shot in it; shots that name none share one.
    """
    groups: dict[tuple[str, str, int], list[ListedShot]] = {}
    for shot in shots:
        key = shot.setup.casefold(), shot.difficulty, shot.exposure
        groups.setdefault(key, []).append(shot)
    seen: set[str] = set()
    sequences = []
    for (setup, difficulty, exposure), group in groups.items():
        name = (group[0].setup or "Film")[:LONGEST_NAME]
        sequences.append(
            Sequence(
                label=f"{name}, {difficulty}, {len(group)} shot{'' if len(group) == 1 else 's'}",
                seconds=_seconds(sum(shot.screen_frames for shot in group), rate),
                exposure=exposure,
                difficulty=difficulty,
                held_seconds=_seconds(sum(shot.held_frames for shot in group), rate),
                holds=max(sum(shot.holds for shot in group), 1),
                reused_seconds=_seconds(sum(shot.reused_frames for shot in group), rate),
                handles=sum(shot.handle_frames for shot in group),
                setups=0 if setup in seen else 1,
            )
        )
        seen.add(setup)
    return tuple(sequences)


def _seconds(frames: int, rate: Fraction) -> Decimal:
    exact = Decimal(frames) * rate.denominator / rate.numerator
    return exact.quantize(_THOUSANDTH)
