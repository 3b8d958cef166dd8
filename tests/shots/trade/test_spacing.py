import pytest

from shots.trade.spacing import Move, positions


def places(*args, **kwargs):
    return [row.position for row in positions(Move(*args, **kwargs))]


def test_an_even_move_goes_the_same_distance_at_every_picture():
    assert places(100, "mm", 4, "even") == pytest.approx([0, 25, 50, 75, 100])


def test_an_eased_move_stands_where_the_published_curve_says():
    # CSS Easing Functions Level 1, ease-in-out at tenths
    assert places(1000, "mm", 10, "both") == pytest.approx(
        [0, 19.7, 81.7, 187.4, 331.9, 500, 668.1, 812.6, 918.3, 980.3, 1000], abs=0.05
    )


def test_increments_add_up_to_the_travel_and_the_last_picture_is_exactly_there():
    rows = positions(Move(73.3, "degrees", 17, "in"))
    assert sum(row.increment for row in rows) == pytest.approx(73.3)
    assert rows[-1].position == 73.3
    assert [row.picture for row in rows] == list(range(18))


def test_closer_pictures_at_the_gentle_end():
    # "closer drawings are slower": animation handbooks
    easing_in = [row.increment for row in positions(Move(90, "degrees", 8, "in"))[1:]]
    assert easing_in == sorted(easing_in)
    easing_out = [row.increment for row in positions(Move(90, "degrees", 8, "out"))[1:]]
    assert easing_out == sorted(easing_out, reverse=True)


def test_anticipation_and_overshoot_reach_their_share_of_the_travel_on_a_picture():
    rows = positions(Move(200, "mm", 20, "both", anticipation=0.1, overshoot=0.05))
    assert min(row.position for row in rows) == pytest.approx(-20)
    assert max(row.position for row in rows) == pytest.approx(210)
    assert rows[-1].position == 200
    assert [row.leg for row in rows] == ["start"] + ["back"] * 4 + ["move"] * 12 + ["settle"] * 4


def test_a_move_in_one_picture_goes_all_the_way_at_once():
    assert places(40, "mm", 1, "both") == [0, 40]


def test_as_few_pictures_as_legs_gives_each_leg_one():
    assert places(100, "mm", 3, "out", anticipation=0.2, overshoot=0.1) == pytest.approx(
        [0, -20, 110, 100]
    )


def test_a_thousand_pictures_is_still_one_move():
    assert len(places(300, "mm", 1000)) == 1001


@pytest.mark.parametrize(
    ("move", "sentence"),
    [
        ((0, "mm", 8), "must go somewhere: give a travel above 0, got 0 mm"),
        ((-5, "degrees", 8), "above 0, got -5 °"),
        ((float("nan"), "mm", 8), "above 0, got nan"),
        ((float("inf"), "mm", 8), "above 0, got inf"),
        ((50, "mm", 0), "at least 1 picture .*; got 0"),
        ((50, "mm", -3), "at least 1 picture .*; got -3"),
        ((50, "mm", 10_000), "at most 1,000 pictures; got 10,000. Split it"),
        ((50, "mm", 1, "both", 0.1), "at least 2 pictures .*; got 1"),
        ((50, "mm", 8, "both", 1.5), "anticipation is a share .* got 1.5"),
        ((50, "mm", 8, "both", 0, -0.1), "overshoot is a share .* got -0.1"),
        ((50, "mm", 8, "springy"), "one of even, in, out, both; got 'springy'"),
        ((50, "inches", 8), "mm or degrees; got 'inches'"),
    ],
)
def test_a_move_that_cannot_be_is_refused_in_a_sentence(move, sentence):
    with pytest.raises(ValueError, match=sentence):
        Move(*move)
