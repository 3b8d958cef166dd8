"""A shot list made into sequences."""

from decimal import Decimal
from fractions import Fraction

import pytest

from clients.trade.quoting.from_list import listed_film, sequences_from
from shots.trade.shot_list import ListError

RATE = Fraction(24)
LIST = """Code,Set-up,Difficulty,Length,Exposure,Held frames,Holds,Handle frames
A010,Kitchen,easy,2s12f,2,12,1,4
A020,Street,hard,3,1,,,
A030,kitchen,EASY,1.5,2,12,1,4
A040,Kitchen,,1,2,,,
"""


def listed(text):
    film = listed_film(text, RATE, 2, ["easy", "medium", "hard"], "medium")
    assert not film.faults
    return film.shots


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
    film = listed_film(f"Code,Length\nA010,{frames} f\n", rate, 1, ["easy"], "easy")
    assert sequences_from(film.shots, rate)[0].length(rate).screen_frames == frames


def test_every_row_that_cannot_be_names_its_line():
    text = (
        "Code,Length,Difficulty,Held frames\n"
        "A010,3,easy,\nA020,soon,easy,\nA030,2,wild,\nA040,1,easy,48\n"
    )
    film = listed_film(text, RATE, 2, ["easy"], "easy")
    assert [shot.screen_frames for shot in film.shots] == [72]
    assert [fault.split(" ", 2)[:2] for fault in film.faults] == [
        ["Line", "3:"], ["Line", "4:"], ["Line", "5:"],
    ]  # fmt: skip
    assert "“soon” is not a length" in film.faults[0]
    assert film.faults[1].startswith("Line 4: “wild” is not one of the studio’s difficulties: easy")


def test_a_list_without_a_row_is_refused():
    with pytest.raises(ListError, match="The list is empty"):
        listed("")


def test_a_long_name_of_a_set_up_is_cut_in_that_of_its_sequence():
    (one,) = sequences_from(listed(f"Code,Set-up,Length\nA010,{'K' * 200},2\n"), RATE)
    assert one.label == f"{'K' * 60}, medium, 1 shot"
