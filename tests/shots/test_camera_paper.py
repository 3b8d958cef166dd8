"""Beats, exposure sheets, camera reports and gauges, as pages and on paper."""

from datetime import timedelta
from io import BytesIO

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pypdf import PdfReader

from shots.models import Beats, Incident
from tests import factories

BEATS = "hold 12 f\nwave: raise 90° in 8 pictures, ease both ends\nline of dialogue 1 s"


@pytest.fixture
def film(studio):
    return factories.ProductionFactory(code="FOX")


@pytest.fixture
def shot(film):
    return factories.ShotFactory(production=film, code="010", setup=None)


def address(name: str, *args) -> str:
    return reverse(f"shots:{name}", args=["FOX", *args])


def text_of(answer) -> str:
    assert answer.status_code == 200, answer.content.decode()
    assert answer.headers["Content-Type"] == "application/pdf"
    return "\n".join(page.extract_text() for page in PdfReader(BytesIO(answer.content)).pages)


# Beats


def test_typing_shows_frames_and_pictures_and_keeps_nothing(crew_client, shot):
    answer = crew_client.post(
        address("beats", shot.pk), {"text": BEATS}, headers={"HX-Request": "true"}
    )
    page = answer.content.decode()
    # 12 held + 8 pictures on twos + 24 frames; one picture for the hold, 8, then 12.
    assert "52 frames" in page
    assert "<strong>21</strong>" in page
    assert "<html" not in page
    assert not Beats.objects.exists()


def test_the_shot_takes_its_length_from_its_beats_when_asked(owner_client, shot):
    to = address("beats", shot.pk)
    owner_client.post(to, {"text": BEATS, "read_version": 0, "act": "keep"})
    shot.refresh_from_db()
    assert shot.screen_frames == 48
    owner_client.post(to, {"text": BEATS, "read_version": 1, "act": "set"})
    shot.refresh_from_db()
    assert (shot.screen_frames, shot.held_frames, shot.holds, shot.reused_frames) == (52, 12, 1, 0)
    assert shot.budget == 21
    assert "The shot has this length." in owner_client.get(to).content.decode()


def test_a_longer_stride_makes_a_cheaper_walk(owner_client, shot):
    to = address("beats", shot.pk)
    for version, (stride, pictures) in enumerate((("5 cm", 24), ("6 cm", 20), ("10 cm", 12))):
        text = f"walk 30 cm, stride {stride}, 4 new pictures a step, alternate feet"
        owner_client.post(to, {"text": text, "read_version": version, "act": "set"})
        shot.refresh_from_db()
        assert shot.budget == pictures


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("hold", "Line 1: “hold” needs a length"),
        ("hold 12 f\nwave: raise 0° in 8 pictures", "Line 2: A move must go somewhere"),
        ("wave: raise 90° in 0 pictures", "needs at least 1 picture"),
        ("reach 40 mm in 10000 pictures", "A move has at most 1,000 pictures"),
        ("walk 30 cm", "needs a stride and pictures"),
    ],
)
def test_beats_that_cannot_be_are_refused_in_words(owner_client, shot, text, sentence):
    to = address("beats", shot.pk)
    answer = owner_client.post(to, {"text": text, "read_version": 0, "act": "set"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert sentence in page
    assert text.splitlines()[-1] in page
    assert not Beats.objects.exists()


def test_no_beats_give_a_shot_no_length(owner_client, shot):
    to = address("beats", shot.pk)
    answer = owner_client.post(to, {"text": "", "read_version": 0, "act": "set"})
    assert answer.status_code == 422
    assert "Write at least one beat" in answer.content.decode()
    assert not Beats.objects.exists()


def test_two_people_writing_beats_see_both(owner_client, crew_client, shot):
    to = address("beats", shot.pk)
    owner_client.post(to, {"text": "hold 12 f", "read_version": 0, "act": "keep"})
    answer = crew_client.post(to, {"text": "hold 8 f", "read_version": 0, "act": "keep"})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "hold 12 f" in page
    assert "hold 8 f" in page


def test_beats_an_exposure_no_longer_allows_are_pointed_at(owner_client, shot):
    Beats.objects.create(shot=shot, text="walk 30 cm, stride 5 cm, 8 f a step")
    shot.exposure = 3
    shot.save()
    assert (
        "8 frames a step do not divide"
        in owner_client.get(address("beats", shot.pk)).content.decode()
    )
    answer = owner_client.get(address("exposure_sheet", shot.pk))
    assert answer.url == address("beats", shot.pk)


# Paper


@pytest.mark.parametrize(("paper", "height"), [("A4", 841.89), ("Letter", 792.0)])
def test_the_exposure_sheet_is_filled_from_beats_or_blank(crew_client, studio, shot, paper, height):
    # ISO 216 and ANSI sizes in points of 1/72 in
    studio.paper = paper
    studio.save()
    to = address("exposure_sheet", shot.pk)
    assert "hold" not in text_of(crew_client.get(to))
    Beats.objects.create(shot=shot, text=BEATS)
    answer = crew_client.get(to)
    assert "raise 90°" in text_of(answer)
    (page, *_) = PdfReader(BytesIO(answer.content)).pages
    assert float(page.mediabox.height) == pytest.approx(height, abs=0.1)
    assert "raise 90°" not in text_of(crew_client.get(to, {"blank": ""}))


def test_a_blank_sheet_needs_no_shot(crew_client, film):
    to = address("blank_exposure_sheet")
    assert "72" in text_of(crew_client.get(to, {"length": "3 s", "exposure": 2}))
    answer = crew_client.get(to, {"length": "10001 f", "exposure": 2})
    assert answer.status_code == 422
    assert "more paper than anyone needs" in answer.content.decode()
    assert crew_client.get(to).status_code == 422


def test_the_camera_report_records_the_session(crew_client, film, crew):
    setup = factories.SetupFactory(production=film, code="K1", iso=100, shutter="1/8")
    shot = factories.ShotFactory(production=film, code="010", setup=setup)
    session = factories.SessionFactory(production=film, setup=setup, notes="Ear re-sewn at lunch")
    session.people.add(crew)
    factories.SessionShotFactory(session=session, shot=shot, kept=14, discarded=3)
    Incident.objects.create(
        session=session, shot=shot, kind="bump", picture=9, note="Tripod knocked",
        at=session.started_at + timedelta(hours=1),
    )  # fmt: skip
    text = text_of(crew_client.get(address("camera_report", session.pk)))
    for words in ("Monday 2 March 2026", "14", "bump: Tripod knocked", "ISO 100", "Teo Lind",
                  "Ear re-sewn", "No pictures were checked."):  # fmt: skip
        assert words in text
    assert "09:00 to 13:00, 4 h" in text  # Warsaw is an hour ahead of UTC in March


def test_the_camera_report_names_the_pictures_and_those_flagged(crew_client, film):
    shot = factories.ShotFactory(production=film, code="010")
    session = factories.SessionFactory(production=film)
    factories.SessionShotFactory(session=session, shot=shot, kept=4, discarded=1)
    flicker = {"kind": "flicker", "change": 0.021, "mode": "once"}
    held = {"kind": "duplicate", "sub": "held", "of": "P0004.jpg", "level": "info"}
    for number, flags, verdict in (
        (1, [], "leave"), (2, [flicker], "discard"), (3, [flicker], "keep"),
        (4, [flicker, held], "leave"), (6, [held], "leave"),
    ):  # fmt: skip
        factories.PictureFactory(
            shot=shot, session=session, name=f"P{number:04}.jpg", flags=flags, verdict=verdict,
            is_flagged=flicker in flags,
        )  # fmt: skip
    text = " ".join(text_of(crew_client.get(address("camera_report", session.pk))).split())
    assert "P0001 to P0004, P0006" in text
    assert "P0002.jpg 010 light +2.1 % in this picture only (discarded)" in text
    assert "P0003.jpg 010 light +2.1 % in this picture only (looked at and kept)" in text
    assert "P0004.jpg 010 light +2.1 % in this picture only" in text
    assert "held" not in text
    assert "P0006.jpg" not in text


def test_the_lock_card_prints_as_it_was_used(crew_client, film):
    setup = factories.SetupFactory(production=film, code="K1", iso=100)
    session = factories.SessionFactory(production=film, setup=setup)
    setup.history.update(history_date=session.started_at)
    setup.iso = 800
    setup.save()  # long after the session
    text = text_of(crew_client.get(address("camera_report", session.pk)))
    assert "ISO 100" in text
    assert "ISO 800" not in text


def test_a_running_session_has_no_report_yet(crew_client, film):
    session = factories.SessionFactory(production=film, running=True)
    assert crew_client.get(address("camera_report", session.pk)).status_code == 404


GAUGE = {"travel": "120", "unit": "mm", "pictures": "12", "ease": "both"}


def test_a_gauge_shows_its_positions_and_prints(crew_client, film):
    page = crew_client.get(address("gauge"), GAUGE).content.decode()
    assert "120.00" in page
    assert "60.00" in page  # easing both ends is halfway at half time (CSS Easing Functions 1)
    assert "100 mm" in text_of(crew_client.get(address("gauge_pdf"), GAUGE))
    centimetres = GAUGE | {"travel": "12", "unit": "cm"}
    assert "120.00" in crew_client.get(address("gauge"), centimetres).content.decode()


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"travel": "0"}, "A move must go somewhere"),
        ({"travel": "-4"}, "A move must go somewhere"),
        ({"travel": "nan"}, "Enter a number."),
        ({"travel": "1e9"}, "Check the unit."),
        ({"travel": "90000"}, "strips of paper"),
        ({"travel": "400", "unit": "degrees"}, "at most one turn"),
        ({"travel": "90", "unit": "degrees", "radius": "900"}, "the radius of 90° goes from 20"),
        ({"travel": "90", "unit": "degrees", "radius": "0"}, "the radius of 90° goes from 20"),
        ({"pictures": "0"}, "needs at least 1 picture"),
        ({"pictures": "1", "overshoot": "10"}, "needs at least 2 pictures"),
        ({"pictures": "10000"}, "at most 1,000 pictures"),
        ({"anticipation": "200"}, "from 0 to 1 (0 % to 100 %)"),
        ({"ease": "bouncy"}, "Select a valid choice"),
    ],
)
def test_a_gauge_that_cannot_be_is_refused_in_words(crew_client, film, fields, sentence):
    for name in ("gauge", "gauge_pdf"):
        answer = crew_client.get(address(name), GAUGE | fields)
        assert answer.status_code == 422
        assert sentence in answer.content.decode()


def test_one_picture_is_a_move_too(crew_client, film):
    assert crew_client.get(address("gauge"), GAUGE | {"pictures": "1"}).status_code == 200


def test_the_page_lists_what_there_is_paper_for(crew_client, film, shot):
    factories.SessionFactory(production=film)
    Beats.objects.create(shot=shot, text=BEATS)
    page = crew_client.get(address("camera_paper")).content.decode()
    assert "Exposure sheet of 010" in page
    assert "Blank exposure sheet of 010" in page
    assert "Camera report of 2 Mar 2026" in page


def test_the_page_asks_as_often_for_many_shots_as_for_one(crew_client, film, shot):
    def ask() -> int:
        with CaptureQueriesContext(connection) as asked:
            crew_client.get(address("camera_paper"))
        return len(asked)

    factories.SessionFactory(production=film)
    few = ask()
    for _ in range(20):
        factories.ShotFactory(production=film)
        factories.SessionFactory(production=film, setup=factories.SetupFactory(production=film))
    assert ask() == few
