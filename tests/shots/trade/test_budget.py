import pytest
from hypothesis import given
from hypothesis import strategies as st

from shots.trade.budget import BudgetError, ShotLength, pictures_needed


@pytest.mark.parametrize(
    ("rate", "exposure", "pictures"),
    [(24, 1, 24), (24, 2, 12), (24, 3, 8), (30, 2, 15), (30, 1, 30), (25, 2, 13)],
)
def test_a_second_on_ones_twos_or_threes_takes_the_pictures_animators_expect(
    rate, exposure, pictures
):
    # 24 on twos is 12 pictures a second, 24 on threes 8, 30 on twos 15: common practice, no source.
    # 25 on twos needs 13 in a single second because half a picture cannot be taken.
    assert pictures_needed(rate, exposure) == pictures


@pytest.mark.parametrize(("exposure", "pictures"), [(1, 240), (2, 120)])
def test_ten_seconds_at_24_match_the_animation_course(exposure, pictures):
    # Animation course "Timing": 10 s at 24 is 240 drawings on ones (its print of 224 is a slip),
    # 120 on twos (verified, corrected by arithmetic).
    assert pictures_needed(240, exposure) == pictures


@pytest.mark.parametrize(
    ("length", "pictures"),
    [
        # Worked by hand: ceil((F + A - H - U) / e) + k
        (ShotLength(100, 2), 50),
        (ShotLength(101, 2), 51),
        (ShotLength(100, 2, handles=8), 54),
        (ShotLength(100, 2, handles=8, held_frames=24, holds=1), 43),
        (ShotLength(100, 2, handles=8, held_frames=24, holds=3), 45),
        (ShotLength(100, 2, handles=8, held_frames=24, holds=1, reused_frames=30), 28),
        (ShotLength(99, 3, reused_frames=1), 33),
        (ShotLength(48, 2, held_frames=48, holds=1), 1),
        (ShotLength(48, 2, reused_frames=48), 0),
        (ShotLength(0, 1), 0),
        (ShotLength(1, 4), 1),
    ],
)
def test_the_budget_is_moving_frames_over_exposure_plus_one_picture_a_hold(length, pictures):
    assert length.pictures == pictures


@pytest.mark.parametrize(
    ("entries", "field"),
    [
        ({"exposure": 0}, "exposure"),
        ({"exposure": -1}, "exposure"),
        ({"exposure": 1.5}, "exposure"),
        ({"screen_frames": -1}, "screen_frames"),
        ({"handles": -4}, "handles"),
        ({"held_frames": -1, "holds": 1}, "held_frames"),
        ({"holds": -1}, "holds"),
        ({"reused_frames": -1}, "reused_frames"),
        ({"held_frames": 10}, "holds"),
        ({"holds": 2}, "held_frames"),
        ({"holds": 3, "held_frames": 2}, "held_frames"),
        ({"held_frames": 101, "holds": 1}, "held_frames"),
        ({"held_frames": 40, "holds": 1, "reused_frames": 61}, "reused_frames"),
    ],
)
def test_an_impossible_shot_is_refused_with_a_sentence_about_its_entry(entries, field):
    with pytest.raises(BudgetError) as refused:
        pictures_needed(**{"screen_frames": 100, "exposure": 2, **entries})
    assert refused.value.field == field
    assert refused.value.sentence.endswith(".")


def test_handles_count_towards_what_may_be_held_or_reused():
    assert pictures_needed(100, 2, handles=8, reused_frames=108) == 0


counts = st.integers(0, 5000)
exposures = st.integers(1, 6)


@given(counts, exposures)
def test_one_picture_more_per_exposure_frames_added(frames, exposure):
    assert pictures_needed(frames + exposure, exposure) == pictures_needed(frames, exposure) + 1


@given(counts, exposures, st.integers(0, 100))
def test_pictures_never_fall_when_a_shot_grows(frames, exposure, more):
    assert pictures_needed(frames + more, exposure) >= pictures_needed(frames, exposure)


@given(counts, exposures)
def test_the_pictures_cover_the_frames_with_less_than_one_exposure_to_spare(frames, exposure):
    covered = pictures_needed(frames, exposure) * exposure
    assert frames <= covered < frames + exposure


@given(st.integers(1, 2000), exposures, st.data())
def test_holding_and_reusing_never_cost_more_pictures_than_frames(frames, exposure, data):
    held = data.draw(st.integers(0, frames))
    holds = data.draw(st.integers(1, held)) if held else 0
    reused = data.draw(st.integers(0, frames - held))
    length = ShotLength(frames, exposure, held_frames=held, holds=holds, reused_frames=reused)
    assert 0 <= length.pictures <= frames
