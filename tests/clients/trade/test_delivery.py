from fractions import Fraction

import pytest

from clients.trade.checks.result import Result
from clients.trade.delivery import (
    FIRST_CHECKS,
    Box,
    box,
    cadence_caution,
    changes_between,
    delivered_name,
    results_of,
)
from clients.trade.filename import NameRefused
from clients.trade.specification import CHECKS

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


LOUD = "Loudness and peak measured over the whole film"


def measured(check: str, found: object = 1, fits: bool = True) -> Result:
    return Result(check, 1, found, fits, "" if fits else "Mend it.")


def test_the_checklist_asks_only_for_items_there_are():
    assert {item for items in FIRST_CHECKS.values() for item in items} <= set(CHECKS)


@pytest.mark.parametrize(
    ("text", "results", "accepted", "said"),
    [
        (LOUD, [measured("loudness"), measured("true_peak")], (), Box.FITS),
        (LOUD, [measured("true_peak")], (), Box.FITS),
        (LOUD, [measured("loudness", fits=False), measured("true_peak")], (), Box.MISFIT),
        (LOUD, [measured("loudness", fits=False)], ("loudness",), Box.FITS),
        (LOUD, [measured("loudness", fits=False)], ("width",), Box.MISFIT),
        (LOUD, [measured("width")], (), Box.PERSON),
        (LOUD, [], (), Box.PERSON),
        ("Loudness as I like it", [measured("loudness")], (), Box.PERSON),
        ("Titles and names spelled as approved", [measured("width")], (), Box.PERSON),
    ],
)
def test_results_answer_a_box_or_leave_it_to_a_person(text, results, accepted, said):
    assert box(text, results, accepted) == said


def test_only_what_was_found_otherwise_changed():
    before = [measured("width", 1920), measured("loudness", -20.0), measured("size", 10)]
    after = [measured("width", 1920), measured("loudness", -23.0), measured("cadence", "even")]
    assert changes_between(before, after) == ["Loudness: −23 LUFS, before −20 LUFS."]


def test_results_come_back_as_they_were_kept():
    row = {"check": "width", "wanted": 1, "found": 2, "fits": False, "advice": "Mend it."}
    assert results_of([row]) == (Result("width", 1, 2, False, "Mend it."),)


FIELDS = {"production": "FELT", "title": "The Felt Fox", "deliverable": "HD web master"}


@pytest.mark.parametrize(
    ("own", "wanted", "version", "name"),
    [
        ("", "", 1, "FELT_HD-web-master_v01.mp4"),
        ("{title}_v{version}.mp4", "", 12, "The-Felt-Fox_v12.mp4"),
        ("{title}_v{version}.MP4", "", 1, "The-Felt-Fox_v01.MP4"),
        ("fox_final", "", 1, "fox_final.mp4"),
        ("fox_final.mp4", "", 1, "fox_final.mp4"),
        ("fox_final.mp4", "", 2, "fox_final_v02.mp4"),
        ("fox_final", "", 3, "fox_final_v03.mp4"),
        ("", "{production}-v{version}.mp4", 2, "FELT-v02.mp4"),
        ("FELT-v{version}.mp4", "{production}-v{version}.mp4", 2, "FELT-v02.mp4"),
    ],
)
def test_a_file_is_named_from_the_pattern_with_its_version(own, wanted, version, name):
    assert delivered_name(own, wanted, FIELDS, version, ".mp4") == name


@pytest.mark.parametrize(
    ("own", "wanted", "sentence"),
    [
        ("fox.mov", "", "the file ends in .mp4"),
        ("fox_v{version}.mp4", "{production}-v{version}.mp4", "The specification asks for names"),
        ("{client}.mp4", "", "asks for 'client'"),
        ("", "{production}_{shot}_v{version}.mp4", "asks for 'shot'"),
        ("", "*.mp4", "has a star"),
    ],
)
def test_a_name_that_would_lie_is_refused(own, wanted, sentence):
    with pytest.raises(NameRefused, match=sentence):
        delivered_name(own, wanted, FIELDS, 1, ".mp4")
