"""What a specification leaves out is filled in from the film it is for."""

from fractions import Fraction

import pytest

from clients.trade.specification import (
    BUILT_IN,
    CadenceWanted,
    Duration,
    FilmBehind,
    FrameCount,
    Specification,
    filled_from,
)

TWOS = FilmBehind(Fraction(24), exposure=2, frames=720)
WIDE = Specification(width=1920)


def test_rate_length_and_cadence_come_from_the_film():
    assert filled_from(WIDE, TWOS) == Specification(
        width=1920,
        frame_rate=Fraction(24),
        frame_count=FrameCount(720),
        cadence=CadenceWanted(2),
    )


# Frames and pictures counted by hand: 720 frames at 24 are 30 s; 12 pictures a second.
@pytest.mark.parametrize(
    ("delivered", "frames", "exposure"),
    [
        ("24000/1001", 720, 2),  # the same frames, run slower
        ("25", 750, None),  # 25 frames do not share out among 12 pictures
        ("30", 900, None),
        ("48", 1440, 4),
        ("12", 360, 1),
        ("60000/1001", 1800, 5),
    ],
)
def test_another_rate_keeps_the_time_and_the_pictures(delivered, frames, exposure):
    wanted = filled_from(Specification(frame_rate=Fraction(delivered)), TWOS)
    assert wanted.frame_count == FrameCount(frames)
    assert wanted.cadence == (CadenceWanted(exposure) if exposure else None)


def test_half_a_frame_rounds_up():
    film = FilmBehind(Fraction(24), 2, frames=36)
    assert filled_from(Specification(frame_rate=Fraction(25)), film).frame_count == FrameCount(38)


def test_what_the_specification_says_stands():
    said = Specification(
        frame_rate=Fraction(24), frame_count=FrameCount(48, 1), cadence=CadenceWanted(1)
    )
    assert filled_from(said, TWOS) == said
    timed = Specification(duration=Duration(Fraction(30)))
    assert filled_from(timed, TWOS).frame_count is None


def test_a_film_without_an_agreed_length_asks_for_none():
    assert filled_from(WIDE, FilmBehind(Fraction(24), 2)).frame_count is None


def test_an_archive_of_pictures_stays_as_it_is():
    assert filled_from(BUILT_IN["image-sequence"], TWOS) == BUILT_IN["image-sequence"]
