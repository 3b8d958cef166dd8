from fractions import Fraction

import pytest

from clients.trade.delivery import cadence_caution

NTSC_24, NTSC_30 = Fraction(24000, 1001), Fraction(30000, 1001)


# Even where delivery divided by pictures a second is whole, 1000/1001 being a change of speed
# (ITU-R BT.709 names both families of rates).
@pytest.mark.parametrize(
    ("film", "exposure", "delivered"),
    [(24, 2, 24), (24, 2, NTSC_24), (NTSC_24, 2, 60), (25, 2, 50), (30, 2, NTSC_30), (24, 3, 24)],
)
def test_an_even_delivery_needs_no_caution(film, exposure, delivered):
    assert cadence_caution(Fraction(film), exposure, Fraction(delivered)) == ""


def test_no_rate_asked_for_needs_no_caution():
    assert cadence_caution(Fraction(24), 2, None) == ""


# 8/5, 25/12 and 4/5 frames a picture, worked by hand.
@pytest.mark.parametrize(
    ("film", "exposure", "delivered", "words"),
    [
        (30, 2, 24, "15 pictures a second (30 on twos): 15 into 24 is uneven"),
        (24, 2, 25, "12 pictures a second (24 on twos): 12 into 25 is uneven"),
        (30, 1, 24, "30 pictures a second (30 on ones): 30 into 24 loses 1 of every 5 pictures"),
        (30, 5, 25, "6 pictures a second (30 on 5s): 6 into 25 is uneven"),
    ],
)
def test_an_uneven_delivery_is_said_with_its_exposure(film, exposure, delivered, words):
    assert words in cadence_caution(Fraction(film), exposure, Fraction(delivered))


def test_the_caution_names_the_nearest_even_choice():
    assert cadence_caution(Fraction(30), 2, Fraction(24)).endswith("Nearest even delivery: 30.")
    assert "24 or 60" in cadence_caution(Fraction(24), 2, Fraction(25))
