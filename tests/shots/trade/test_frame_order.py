"""The order in which pictures are shown."""

import pytest

from shots.trade.frame_order import Again, Shown, frame_order

TWOS = [Shown(number, 2) for number in range(1, 5)]


def numbers(shown) -> list[int]:
    return [place.number for place in frame_order(shown)]


def test_each_picture_follows_the_one_before_for_as_long_as_it_is_held():
    places = frame_order([Shown(1, 2), Shown(2, 12), Shown(4, 2)])
    assert [(place.number, place.x, place.frames) for place in places] == [
        (1, 0, 2),
        (2, 2, 12),
        (4, 14, 2),
    ]
    assert frame_order([]) == []


@pytest.mark.parametrize(
    ("after", "again", "order"),
    [
        (4, Again(1, 4, 2), [1, 2, 3, 4, 1, 2, 3, 4, 1, 2, 3, 4]),  # a walk cycle
        (2, Again(1, 2, 1), [1, 2, 1, 2, 3, 4]),
        (4, Again(3, 2, 1), [1, 2, 3, 4, 3, 2]),  # there and back
        (1, Again(3, 3, 1), [1, 3, 2, 3, 4]),
        (4, Again(9, 12, 1), [1, 2, 3, 4]),  # none of them is in the film any more
    ],
)
def test_pictures_are_shown_again_after_one(after, again, order):
    assert (
        numbers([Shown(o.number, 2, again if o.number == after else None) for o in TWOS]) == order
    )


def test_what_is_shown_again_says_so_and_does_not_repeat_for_ever():
    shown = [Shown(1, 2), Shown(2, 3, Again(1, 2, 1)), Shown(3, 2, Again(2, 2, 1))]
    assert [(place.number, place.x, place.is_again) for place in frame_order(shown)] == [
        (1, 0, False),
        (2, 2, False),
        (1, 5, True),
        (2, 7, True),
        (3, 10, False),
        (2, 12, True),
    ]
