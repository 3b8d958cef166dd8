"""Shot codes: the next one to offer, and the free one for a copy."""

import pytest

from shots.trade.shot_codes import free_code, is_code, next_code


@pytest.mark.parametrize(
    ("codes", "offered"),
    [
        ([], "A010"),
        (["A010"], "A020"),
        (["A010", "A020"], "A030"),
        (["S1_1", "S1_2"], "S1_3"),
        (["A010", "B010"], "B020"),
        (["A020", "A010"], ""),
        (["A090"], "A100"),
        (["A010-2"], "A010-12"),
        (["title"], ""),
        (["A" * 17 + "999"], ""),
    ],
)
def test_the_next_code_goes_on_as_the_last_two_did(codes, offered):
    assert next_code(codes) == offered


def test_a_copy_takes_the_first_free_number_whatever_its_capitals():
    assert free_code("A010", ["A010"]) == "A010-2"
    assert free_code("a010", ["A010", "A010-2"]) == "a010-3"
    assert free_code("X" * 20, []) == "X" * 18 + "-2"


@pytest.mark.parametrize("code", ["", "-A", "Ą1", "A 1", "A\n", "../x", "A" * 21])
def test_codes_that_cannot_name_a_file_are_none(code):
    assert not is_code(code)
