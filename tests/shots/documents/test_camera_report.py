from io import BytesIO

import pytest
from pypdf import PdfReader

from shots.documents.camera_report import (
    CameraReport,
    Incident,
    LockCard,
    PictureFlagged,
    ShotTaken,
    camera_report,
)


def text_of(report, paper="A4"):
    reader = PdfReader(BytesIO(camera_report(report, paper)))
    return "\n".join(page.extract_text() for page in reader.pages)


def report(**more):
    facts = {
        "production": "The Felt Kettle",
        "date": "Tuesday 3 March 2026",
        "hours": "6 h 30 min",
        "people": "Mira, Żółć",
        "taken": (
            ShotTaken("A10", "wide table", "0001 to 0043", 41, 2),
            ShotTaken("A20", "wide table", "0044 to 0090", 40, 7, "arm re-wired after picture 61"),
        ),
    }
    return CameraReport(**{**facts, **more})


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_it_lists_each_shot_and_adds_up_kept_and_discarded(paper):
    text = text_of(report(), paper)
    for words in ("A10", "0001 to 0043", "arm re-wired", "81", "9", "Mira, Żółć"):
        assert words in text


def test_it_prints_lock_card_incidents_flags_and_notes():
    text = text_of(
        report(
            lock_cards=(LockCard("wide table", (("Focal length", "50 mm"), ("ISO", "100"))),),
            incidents=(Incident("Lamp flickered", "A20", "0061", "14:20"),),
            flagged=(PictureFlagged("0057", "A20", "brighter than its neighbours"),),
            notes="Leave the set as it is.",
        )
    )
    for words in (
        "Lock card as used: wide table",
        "50 mm",
        "Lamp flickered",
        "0061",
        "brighter than its neighbours",
        "Leave the set as it is.",
    ):
        assert words in text


def test_a_day_without_result_says_so():
    text = text_of(report(taken=()))
    assert "Nothing was photographed in this session." in text
    assert "None written down." in text


def test_a_long_session_runs_over_pages_with_its_heads_repeated():
    taken = tuple(ShotTaken(f"A{n}", "wide", "", n, 0) for n in range(120))
    text = text_of(report(taken=taken))
    assert "A119" in text
    assert text.count("Discarded") >= 3
