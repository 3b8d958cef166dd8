"""What a preview shows frame by frame."""

from dataclasses import replace
from fractions import Fraction

import pytest

from shots.trade.frame_order import Again
from shots.trade.preview import (
    KeptPicture,
    ShotSoFar,
    film_stretches,
    length,
    shot_stretches,
    writing,
)


def so_far(code="A010", frames=12, reused=0, exposure=2, pictures=()):
    kept = tuple(
        one if isinstance(one, KeptPicture) else KeptPicture(one, number)
        for number, one in enumerate(pictures, 1)
    )
    return ShotSoFar(code, "The fox waves", exposure, frames, reused, kept)


def shown(stretches):
    return [(one.picture, one.frames, one.note) for one in stretches]


def test_each_picture_stays_for_the_exposure_or_as_long_as_it_is_held():
    shot = so_far(pictures=(7, KeptPicture(8, 2, frames=5), KeptPicture(9, 3, is_small=True)))
    assert shown(shot_stretches(shot)) == [
        (7, 2, "picture 1"),
        (8, 5, "picture 2"),
        (9, 2, "picture 3, small"),
    ]


def test_reused_frames_follow_from_the_first_picture_on_and_end_with_the_shot():
    shot = so_far(frames=11, reused=5, pictures=(7, 8, 9))
    assert shown(shot_stretches(shot))[3:] == [
        (7, 2, "picture 1, reused"),
        (8, 2, "picture 2, reused"),
        (9, 1, "picture 3, reused"),
    ]


def test_what_is_shown_again_stands_where_it_was_said_and_the_rest_of_the_reuse_at_the_end():
    turn = KeptPicture(8, 3, again=Again(3, 1, 1))  # the second picture was discarded
    shot = so_far(frames=11, reused=7, pictures=(KeptPicture(7, 1), turn, KeptPicture(9, 4)))
    assert shown(shot_stretches(shot)) == [
        (7, 2, "picture 1"),
        (8, 2, "picture 3"),
        (8, 2, "picture 3, reused"),
        (7, 2, "picture 1, reused"),
        (9, 2, "picture 4"),
        (7, 1, "picture 1, reused"),
    ]


@pytest.mark.parametrize(
    ("frames", "reused", "pictures", "left"),
    [
        (12, 6, (7, 8, 9), 0),
        (20, 6, (7, 8, 9), 14),  # still lacking: where the reused ones fall is not known
        (12, 0, (7,), 10),
        (12, 0, (), 12),
        (4, 0, (7, 8, 9), 0),  # longer than its length: nothing is cut off
    ],
)
def test_a_grey_card_stands_for_what_is_to_come(frames, reused, pictures, left):
    film = film_stretches([so_far(frames=frames, reused=reused, pictures=pictures)])
    cards = [one.frames for one in film if one.picture is None]
    assert sum(cards) == left
    assert length(film) == max(frames, 2 * len(pictures))


def test_a_cycle_goes_round_as_often_as_the_reuse_needs():
    shot = so_far(frames=13, reused=9, pictures=(7, 8))
    assert [one.picture for one in shot_stretches(shot)] == [7, 8, 7, 8, 7, 8, 7]
    assert length(shot_stretches(shot)) == 13


def test_every_frame_says_its_shot_its_number_in_it_and_the_films_timecode():
    film = film_stretches(
        [so_far("A010", 4, pictures=(7, 8)), so_far("A020", 3, exposure=1, pictures=(9,))]
    )
    words = [words for _, words in writing(film, Fraction(24))]
    assert [w.middle for w in words] == [f"frame {n}" for n in (1, 2, 3, 4, 1, 2, 3)]
    assert words[4].left == "A020  ·  picture 1"
    assert words[6].left == "A020  ·  to come"
    assert [w.right for w in words][:2] == ["00:00:00:00", "00:00:00:01"]


def test_a_shot_that_is_done_without_its_pictures_is_not_called_still_to_come():
    (card,) = film_stretches([replace(so_far("A010", 4), is_done=True)])
    assert (card.picture, card.frames, card.note) == (None, 4, "shot, pictures not here")


@pytest.mark.parametrize(
    ("rate", "frame", "label"),
    [
        # SMPTE ST 12-1: at 29.97 the labels ;00 and ;01 are left out each minute but the tenth.
        (Fraction(30000, 1001), 1799, "00:00:59;29"),
        (Fraction(30000, 1001), 1800, "00:01:00;02"),
        # At 23.976 timecode counts 24 labels, with no drop-frame.
        (Fraction(24000, 1001), 1440, "00:01:00:00"),
        (Fraction(12), 13, "00:00:01:01"),
    ],
)
def test_timecode_keeps_to_the_rate(rate, frame, label):
    film = film_stretches([so_far(frames=2000)])
    assert [words.right for _, words in writing(film, rate)][frame] == label
