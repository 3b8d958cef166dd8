"""An accepted option as a shot list: no frame and no picture lost on the way."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from clients.trade.quoting.errors import QuoteError
from clients.trade.quoting.option import Option, Sequence
from clients.trade.quoting.shots import shot_plan

D = Decimal


def option(*sequences: Sequence, rate=24) -> Option:
    return Option("film", Fraction(rate), sequences)


def test_a_shot_for_each_set_up_and_none_for_a_shared_one():
    plan = shot_plan(
        option(
            Sequence("Kitchen", D(10), 2, "easy", setups=2),
            Sequence("Close", D(4), 2, "hard", setups=0),
            Sequence("Street", D(3), 1, "hard"),
        )
    )
    assert [(setup.code, setup.name) for setup in plan.setups] == [
        ("S01", "Kitchen"), ("S02", "Kitchen"), ("S03", "Street"),
    ]  # fmt: skip
    assert [(shot.code, shot.setup, shot.length.screen_frames) for shot in plan.shots] == [
        ("010", "S01", 120), ("020", "S02", 120), ("030", "S02", 96), ("040", "S03", 72),
    ]  # fmt: skip


def test_a_film_without_set_ups_has_shots_without_one():
    plan = shot_plan(option(Sequence("Film", D(2), 2, "easy", setups=0)))
    assert (plan.setups, plan.shots[0].setup) == ((), "")


def test_a_sequence_too_short_for_its_set_ups_is_one_shot():
    plan = shot_plan(option(Sequence("Blink", D("0.1"), 2, "easy", setups=5)))
    assert (len(plan.setups), len(plan.shots)) == (5, 1)


@settings(deadline=None)
@given(
    seconds=some.decimals(min_value=D("0.1"), max_value=60, places=2),
    exposure=some.integers(1, 4),
    setups=some.integers(0, 12),
    held=some.decimals(min_value=0, max_value=20, places=2),
    holds=some.integers(1, 4),
    handles=some.integers(0, 30),
    rate=some.sampled_from([12, 15, 24, 25]),
)
def test_frames_and_agreed_pictures_add_up_to_the_quote(
    seconds, exposure, setups, held, holds, handles, rate
):
    sequence = Sequence(
        "Film", seconds, exposure, "easy", held_seconds=held, holds=holds, handles=handles,
        setups=setups,
    )  # fmt: skip
    try:
        whole = sequence.length(Fraction(rate))
    except QuoteError:
        return  # more held than there is: refused before it is quoted
    shots = shot_plan(option(sequence, rate=rate)).shots
    assert sum(shot.length.screen_frames for shot in shots) == whole.screen_frames
    assert sum(shot.length.handles for shot in shots) == handles
    assert sum(shot.agreed for shot in shots) == whole.pictures
    assert all(shot.agreed >= 0 for shot in shots)


@pytest.mark.parametrize("setups", [1, 2, 3, 7])
def test_a_split_costs_at_most_a_picture_more_than_agreed(setups):
    # Cut at whole pictures; only the odd frames at either end can round up twice.
    sequence = Sequence("Film", D("10.04"), 2, "easy", setups=setups, handles=3)
    shots = shot_plan(option(sequence)).shots
    assert sum(shot.length.pictures - shot.agreed for shot in shots) in (0, 1)
