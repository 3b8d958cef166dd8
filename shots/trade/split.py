"""Splitting a shot in two without losing a frame."""

from shots.trade.budget import BudgetError, ShotLength


def split_length(whole: ShotLength, first_frames: int) -> tuple[ShotLength, ShotLength]:
    """Two lengths whose frames add up to `whole`: the first has `first_frames` on screen.

    The head handle stays with the first and the tail handle goes to the second. Held frames, then
    reused frames, stay with the first as far as they fit. A lone hold the cut falls into becomes
    one in each. Raises BudgetError("screen_frames") unless both have at least one frame.
    """
    if not 1 <= first_frames < whole.screen_frames:
        raise BudgetError(
            "screen_frames",
            f"Split after 1 to {whole.screen_frames - 1} frames, got {first_frames}: "
            "both shots need at least one frame.",
        )
    handles = whole.handles - whole.handles // 2
    held = min(whole.held_frames, first_frames + handles)
    reused = min(whole.reused_frames, first_frames + handles - held)
    held_after = whole.held_frames - held
    holds, holds_after = _split_holds(whole.holds, held, held_after)
    first = ShotLength(first_frames, whole.exposure, handles, held, holds, reused)
    second = ShotLength(
        whole.screen_frames - first_frames,
        whole.exposure,
        whole.handles - handles,
        held_after,
        holds_after,
        whole.reused_frames - reused,
    )
    return first, second


def _split_holds(holds: int, held: int, held_after: int) -> tuple[int, int]:
    if not held_after:
        return holds, 0
    if not held:
        return 0, holds
    first = min(max(holds - 1, 1), held)
    return first, max(holds - first, 1)
