"""Splitting a shot loses no frame."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from shots.trade.budget import BudgetError, ShotLength
from shots.trade.split import split_length


def parts(length: ShotLength) -> tuple[int, ...]:
    return (
        length.screen_frames,
        length.handles,
        length.held_frames,
        length.holds,
        length.reused_frames,
    )


@pytest.mark.parametrize(
    ("whole", "at", "first", "second"),
    [
        (ShotLength(48, 2), 24, (24, 0, 0, 0, 0), (24, 0, 0, 0, 0)),
        (ShotLength(48, 2, 5, 12, 2, 6), 30, (30, 3, 12, 2, 6), (18, 2, 0, 0, 0)),
        (ShotLength(48, 1, 0, 30, 1), 10, (10, 0, 10, 1, 0), (38, 0, 20, 1, 0)),
        (ShotLength(48, 1, 0, 30, 3), 10, (10, 0, 10, 2, 0), (38, 0, 20, 1, 0)),
        (ShotLength(20, 1, 0, 0, 0, 20), 5, (5, 0, 0, 0, 5), (15, 0, 0, 0, 15)),
    ],
)
def test_holds_and_reuse_stay_with_the_first_as_far_as_they_fit(whole, at, first, second):
    assert tuple(parts(part) for part in split_length(whole, at)) == (first, second)


@pytest.mark.parametrize("at", [0, -1, 48, 50])
def test_both_parts_need_a_frame(at):
    with pytest.raises(BudgetError, match="Split after 1 to 47 frames"):
        split_length(ShotLength(48, 2), at)


count = st.integers(0, 60)


@given(count, count, count, count, count, st.integers(1, 4), st.integers(1, 60))
def test_frames_handles_holds_and_reuse_add_up(frames, handles, held, holds, reused, exposure, at):
    try:
        whole = ShotLength(frames, exposure, handles, held, holds, reused)
    except BudgetError:
        assume(False)
    assume(at < frames)
    first, second = split_length(whole, at)
    added = [a + b for a, b in zip(parts(first), parts(second), strict=True)]
    # A lone hold that is cut in two is the one thing counted twice.
    broken = added[3] - holds
    assert broken in (0, 1)
    assert not broken or holds == 1
    assert added[:3] + added[4:] == [frames, handles, held, reused]
