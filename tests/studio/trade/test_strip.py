from fractions import Fraction

import pytest

from studio.trade.strip import Segment, StripError, StripShot, strip

RATE = Fraction(24)
SHOTS = [
    StripShot("A10", 102, 51, 51, "approved"),
    StripShot("A20", 48, 6, 24, "shooting"),
    StripShot("A30", 500, 10, 250, "cut"),
    StripShot("B10", 90, 0, 45, "to shoot"),
]


def test_shots_lie_end_to_end_and_cut_ones_are_left_out():
    film = strip(SHOTS, RATE, 240)
    assert film.segments == (
        Segment("A10", 0, 102, 102.0, "approved", "A10, 4 s 06 f, approved: 51 of 51 pictures"),
        Segment("A20", 102, 48, 12.0, "shooting", "A20, 2 s 00 f, shooting: 6 of 24 pictures"),
        Segment("B10", 150, 90, 0.0, "to shoot", "B10, 3 s 18 f, to shoot: 0 of 45 pictures"),
    )
    assert film.total_frames == 240


@pytest.mark.parametrize(
    ("kept", "budget", "status", "filled"),
    [
        (60, 50, "shooting", 100.0),  # more kept than planned
        (49, 50, "shot", 100.0),  # done with fewer pictures than planned
        (25, 50, "to retake", 50.0),
        (0, 0, "to shoot", 0.0),
        (0, 0, "approved", 100.0),
    ],
)
def test_a_segment_fills_as_far_as_it_is_shot_and_no_further(kept, budget, status, filled):
    film = strip([StripShot("A10", 100, kept, budget, status)], RATE, None)
    assert film.segments[0].filled_width == filled


@pytest.mark.parametrize(
    ("contracted", "over", "span", "sentence"),
    [
        (None, None, 240, "The film is 10 s 00 f."),
        (240, 0, 240, "The film is 10 s 00 f, exactly the contracted 10 s 00 f."),
        (226, 14, 240, "The film is 10 s 00 f, 0 s 14 f over the contracted 9 s 10 f."),
        (300, -60, 300, "The film is 10 s 00 f, 2 s 12 f under the contracted 12 s 12 f."),
    ],
)
def test_the_film_is_held_against_the_contracted_runtime(contracted, over, span, sentence):
    film = strip(SHOTS, RATE, contracted)
    assert (film.over_frames, film.span_frames, film.sentence) == (over, span, sentence)


@pytest.mark.parametrize(
    ("frames", "labels"),
    [
        (12, ["0:00"]),
        (240, ["0:00", *(f"0:{s:02d}" for s in range(1, 11))]),
        (720, ["0:00", "0:05", "0:10", "0:15", "0:20", "0:25", "0:30"]),
        (2160, [f"{s // 60}:{s % 60:02d}" for s in range(0, 91, 10)]),
        (86400, [f"{m}:00" for m in range(0, 60, 10)] + ["1:00:00"]),
    ],
)
def test_the_ruler_chooses_a_step_that_reads_well(frames, labels):
    film = strip([StripShot("A10", frames, 0, 10, "to shoot")], RATE, None)
    assert [tick.label for tick in film.ticks] == labels


@pytest.mark.parametrize("frames", [1, 287, 288, 289, 5000, 123456, 2_073_600, 99_999_999])
def test_the_ruler_never_has_more_than_twelve_labels(frames):
    film = strip([StripShot("A10", frames, 0, 10, "to shoot")], RATE, None)
    assert 1 <= len(film.ticks) <= 12
    assert film.ticks[-1].x <= frames


def test_ticks_follow_the_labels_of_a_1001_rate():
    film = strip([StripShot("A10", 72, 0, 1, "to shoot")], Fraction(24000, 1001), None)
    assert [tick.x for tick in film.ticks] == [0, 24, 48, 72]


def test_an_empty_film_still_has_a_width():
    film = strip([], RATE, None)
    assert (film.total_frames, film.span_frames, film.segments) == (0, 1, ())


def test_a_negative_count_is_refused_by_name():
    with pytest.raises(StripError, match="Shot A10"):
        strip([StripShot("A10", -1, 0, 0, "to shoot")], RATE, None)
