import pytest

from shots.trade.edit_list import EditChange, EditedShot, compare


def film(**frames):
    return [EditedShot(code, count) for code, count in frames.items()]


def test_it_says_what_grew_shrank_appeared_and_went_in_frames():
    found = compare(film(A10=48, A20=60, A30=24, A40=12), film(A10=60, A20=48, A30=24, A50=36))
    assert found.grew == (EditChange("A10", 48, 60),)
    assert found.shrank == (EditChange("A20", 60, 48),)
    assert found.appeared == (EditChange("A50", None, 36),)
    assert found.went == (EditChange("A40", 12, None),)
    assert [c.frames for c in found.grew + found.shrank + found.appeared + found.went] == [
        12,
        -12,
        36,
        -12,
    ]
    assert (found.same, found.frames, found.reordered) == (1, 24, False)


def test_an_edit_that_changes_nothing_changes_nothing():
    found = compare(film(A10=48, A20=60), film(A10=48, A20=60))
    assert (found.grew, found.shrank, found.appeared, found.went) == ((), (), (), ())
    assert (found.same, found.frames, found.reordered) == (2, 0, False)


def test_another_order_is_noticed_among_the_shots_in_both():
    assert compare(film(A10=1, A20=1, A30=1), film(A30=1, A10=1)).reordered
    assert not compare(film(A10=1, A20=1, A30=1), film(A10=1, A15=1, A30=1)).reordered


def test_codes_match_whatever_their_case_and_keep_the_films_spelling():
    assert compare(film(A10=48), film(a10=50)).grew == (EditChange("A10", 48, 50),)


def test_a_first_edit_is_all_new():
    assert compare([], film(A10=48)).frames == 48


def test_a_code_standing_twice_is_refused():
    with pytest.raises(ValueError, match="Shot a10 is twice in the edit"):
        compare([], film(A10=1, a10=2))
