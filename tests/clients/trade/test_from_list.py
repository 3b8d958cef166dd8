"""A shot list made into sequences."""

from decimal import Decimal
from fractions import Fraction

import pytest

from clients.trade.quoting.from_list import listed_shots, sequences_from
from shots.trade.shot_list import ListError

RATE = Fraction(24)
LIST = """Code,Set-up,Difficulty,Length,Exposure,Held frames,Holds,Handle frames
A010,Kitchen,easy,2s12f,2,12,1,4
A020,Street,hard,3,1,,,
A030,kitchen,EASY,1.5,2,12,1,4
A040,Kitchen,,1,2,,,
"""


def listed(text):
    return listed_shots(text, RATE, 2, ["easy", "medium", "hard"], "medium")


def test_what_shares_set_up_difficulty_and_exposure_is_one_sequence():
    found = sequences_from(listed(LIST), RATE)
    assert [
        (one.label, one.seconds, one.exposure, one.held_seconds, one.holds, one.handles, one.setups)
        for one in found
    ] == [
        ("Kitchen, easy, 2 shots", 4, 2, 1, 2, 8, 1),
        ("Street, hard, 1 shot", 3, 1, 0, 1, 0, 1),
        ("Kitchen, medium, 1 shot", 1, 2, 0, 1, 0, 0),
    ]
    # (96 + 8 - 24) / 2 + 2 holds
    assert found[0].length(RATE).pictures == 42


def test_shots_without_a_set_up_share_one():
    found = sequences_from(listed("Code,Length\nA010,2\nA020,3\n"), RATE)
    assert [(one.label, one.seconds, one.setups) for one in found] == [
        ("Film, medium, 2 shots", Decimal(5), 1)
    ]


@pytest.mark.parametrize("frames", [1, 7, 100, 86_399])
@pytest.mark.parametrize("rate", [Fraction(24000, 1001), Fraction(60), Fraction(25)])
def test_frames_come_back_exactly(frames, rate):
    shots = listed_shots(f"Code,Length\nA010,{frames} f\n", rate, 1, ["easy"], "easy")
    assert sequences_from(shots, rate)[0].length(rate).screen_frames == frames


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("Code,Length\nA010,2\nA020,soon\n", "Line 3: "),
        ("Code,Length,Difficulty\nA010,2,wild\n", "Line 2: “wild” is not one of"),
        ("Code,Length,Held frames\nA010,1,48\n", "Line 2: "),
        ("", "The list is empty"),
    ],
)
def test_a_row_that_cannot_be_names_its_line(text, sentence):
    with pytest.raises(ListError, match=sentence):
        listed(text)
