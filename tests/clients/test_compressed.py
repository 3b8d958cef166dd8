"""Cadence and frozen stretches in films compressed hard, with and without grain."""

import pytest

from clients.trade.checks.motion import Stretch
from tests.compressed import (
    DOUBLED,
    DROPPED,
    FROZEN,
    GRAINS,
    ONES,
    THREES,
    TWOS,
    Take,
    found_in,
    holds,
    shoot,
)

CRF = (18, 23, 30, 36)
MIXED = holds(*[1] * 16, *[2] * 12, *[1] * 16, *[2] * 12)
"""ones on frames 0 to 15 and 40 to 55, twos between and after"""


@pytest.fixture
def look(tmp_path):
    """What is found in a film made of these pictures."""

    def at(take: Take, pictures, exposure: int = 2):
        return found_in(shoot(take, pictures, tmp_path / "film.mp4"), exposure)

    return at


@pytest.mark.parametrize("crf", CRF)
@pytest.mark.parametrize("grain", GRAINS)
def test_clean_twos_are_clean_and_a_dropped_frame_is_named(crf, grain, look):
    take = Take(crf, **grain)
    clean, still = look(take, TWOS)
    assert (clean.pattern, clean.breaks, still) == ((2,), (), [])
    assert look(take, DROPPED)[0].breaks == (Stretch(34, 34),)


@pytest.mark.parametrize("crf", CRF)
def test_other_exposures_read_right(crf, look):
    take = Take(crf)
    assert look(take, DOUBLED)[0].breaks == (Stretch(34, 36),)
    threes, _ = look(take, THREES, exposure=3)
    assert (threes.pattern, threes.breaks) == ((3,), ())
    ones, _ = look(take, ONES, exposure=1)
    assert (ones.pattern, ones.breaks) == ((1,), ())
    assert look(take, ONES)[0].pattern == (1,)


@pytest.mark.parametrize("crf", [18, 23, 30])
def test_ones_among_twos_are_named(crf, look):
    broken = [run.first for run in look(Take(crf), MIXED)[0].breaks]
    assert broken == [*range(16), *range(40, 56)]


@pytest.mark.parametrize("crf", CRF)
@pytest.mark.parametrize("grain", GRAINS[::2])
def test_a_frozen_stretch_is_found(crf, grain, look):
    cadence, still = look(Take(crf, **grain), FROZEN)
    assert cadence.breaks == ()
    assert len(still) == 1
    # The first frames after a movement still settle.
    assert 20 <= still[0].first <= 26
    assert 57 <= still[0].last <= 59


@pytest.mark.parametrize("crf", CRF)
def test_a_faint_creeping_puppet_is_not_frozen(crf, look):
    faint = Take(crf, step=0.35, contrast=25, height=0.2)
    assert look(faint, TWOS)[1] == []


@pytest.mark.parametrize("step", [0.35, 0.8])
def test_what_cannot_be_told_is_said_to_be_uncertain(step, look):
    """The encoder guesses the movement halfway and codes nothing: the film truly moves on ones."""
    thin = Take(36, preset="veryfast", step=step)
    cadence, _ = look(thin, TWOS)
    assert cadence.is_uncertain
