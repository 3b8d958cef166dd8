"""Taking in an edit: compared before anything changes, then only what was chosen."""

import opentimelineio as otio
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from shots.forms.edit_import import signed
from shots.models import Shot
from shots.queries.edit_import import with_codes
from shots.trade.edit_list import EditedShot
from tests import factories


@pytest.fixture
def film(studio):
    return factories.ProductionFactory(code="FOX")


@pytest.fixture
def shots(film):
    setup = factories.SetupFactory(production=film, code="K1")
    return [
        factories.ShotFactory(production=film, setup=setup, code=f"0{n + 1}0", position=n)
        for n in range(4)
    ]


def clip(name: str, frames: int, rate: float = 24) -> otio.schema.Clip:
    span = otio.opentime.TimeRange(
        otio.opentime.RationalTime(0, rate), otio.opentime.RationalTime(frames, rate)
    )
    return otio.schema.Clip(name, source_range=span)


def edit_file(*items, name: str = "cut.otio") -> SimpleUploadedFile:
    track = otio.schema.Track(children=list(items), kind=otio.schema.TrackKind.Video)
    text = otio.adapters.write_to_string(otio.schema.Timeline("cut", tracks=[track]), "otio_json")
    return SimpleUploadedFile(name, text.encode())


def address() -> str:
    return reverse("shots:edit_import", args=["FOX"])


def lengths() -> dict[str, int]:
    return dict(Shot.objects.in_film().values_list("code", "screen_frames"))


CUT = (clip("010", 60), clip("020", 48), clip("040", 24), clip("050", 36))


def compared(client, *items):
    answer = client.post(address(), {"file": edit_file(*(items or CUT))})
    assert answer.status_code == 200
    return answer


def keys(answer) -> dict[str, str]:
    return {row.change.code: row.key for row in answer.context["page"].rows}


def take(client, answer, *codes, **fields):
    form = answer.context["form"]
    found = keys(answer)
    return client.post(
        address(),
        {
            "edit": form["edit"].value(),
            "difficulty": factories.DifficultyFactory().pk,
            "take": [found[code] for code in codes],
            **fields,
        },
    )


def test_everything_is_shown_and_nothing_changed(crew_client, film, shots):
    before = lengths()
    answer = compared(crew_client)
    page = answer.context["page"]
    assert [row.change.code for row in page.rows] == ["010", "040", "050", "030"]
    assert [row.kind for row in page.rows] == ["grew", "shrank", "appeared", "went"]
    # 12, -24, 36 and -48 frames on twos: 6, -12, 18 and -24 pictures.
    assert [row.pictures for row in page.rows] == [6, -12, 18, -24]
    # At the assumed 12 an hour and 7 h a day 18 pictures are 0.21 of a day; the pace expected
    # before anything is measured is a little slower.
    assert 0.21 < page.rows[2].days < 0.26
    assert "loses 24 frames" in answer.content.decode()
    assert lengths() == before


def test_only_what_was_ticked_is_taken_over(owner_client, film, shots):
    answer = compared(owner_client)
    done = take(owner_client, answer, "010", "050", "030")
    assert done.status_code == 302
    assert lengths() == {"010": 60, "020": 48, "040": 48, "050": 36}
    gone = Shot.objects.get(code="030")
    assert (gone.status, gone.archived_at) == ("cut", None)
    assert Shot.objects.get(code="050").exposure == film.exposure


def test_the_order_of_the_edit_is_taken_over_when_asked(owner_client, film, shots):
    edit = (clip("040", 48), clip("010", 48), clip("030", 48))
    answer = compared(owner_client, *edit)
    assert answer.context["page"].comparison.reordered
    take(owner_client, answer, take_order="on")
    # 020 is not in the edit: it stays behind the shot it followed.
    codes = list(Shot.objects.in_film().values_list("code", flat=True))
    assert codes == ["040", "010", "020", "030"]


def test_a_film_changed_meanwhile_is_compared_again(owner_client, film, shots):
    answer = compared(owner_client)
    Shot.objects.filter(code="010").update(screen_frames=72, version=5)
    done = take(owner_client, answer, "010", "030")
    assert done.status_code == 409
    assert "The film was changed since this was compared." in done.content.decode()
    assert lengths()["010"] == 72
    assert Shot.objects.get(code="030").status == "to shoot"


def test_a_shot_too_short_for_its_holds_says_so_and_stays(owner_client, film, shots):
    Shot.objects.filter(code="040").update(held_frames=40, holds=1)
    answer = compared(owner_client)
    row = next(row for row in answer.context["page"].rows if row.change.code == "040")
    assert "40 held and 0 reused frames are 16 more" in row.obstacle
    assert take(owner_client, answer, "040").status_code == 409
    assert lengths()["040"] == 48


def test_a_shot_that_was_done_and_grew_is_to_shoot_again(owner_client, film, shots):
    session = factories.SessionFactory(production=film)
    factories.SessionShotFactory(session=session, shot=shots[0], kept=24)
    Shot.objects.filter(code="010").update(status="shot")
    answer = compared(owner_client)
    assert answer.context["page"].rows[0].pictures == 6
    assert "was shot already" in answer.content.decode()
    take(owner_client, answer, "010")
    grown = Shot.objects.with_counts().get(code="010")
    assert (grown.status, grown.pictures_left) == ("shooting", 6)


def test_another_rate_is_converted_and_said(owner_client, film, shots):
    answer = compared(owner_client, clip("010", 50, rate=25), clip("020", 50, rate=25))
    assert "The edit runs at 25 frames a second" in answer.content.decode()
    # 50 frames at 25 are 2 s, 48 frames at 24: nothing grew.
    assert {row.kind for row in answer.context["page"].rows} == {"went"}


def test_missing_and_nested_clips_are_said(owner_client, film, shots):
    inside = otio.schema.Stack(name="Scene 1", children=[clip("010", 48)])
    page = compared(owner_client, otio.schema.Clip("020"), inside).content.decode()
    assert "Clip “020” has no length and was left out." in page
    assert "“Scene 1” is nested" in page


@pytest.mark.parametrize(
    ("file", "sentence"),
    [
        (SimpleUploadedFile("cut.otio", b"not an edit"), "could not be read as an edit"),
        (SimpleUploadedFile("cut.exe", b"MZ"), "is not an edit that can be read here"),
        (SimpleUploadedFile("cut.otio", b""), "The submitted file is empty."),
        (edit_file(), "has no clip with a length"),
        (edit_file(clip("A 1", 10), clip("A-1", 10)), "Shot A-1 is twice in the edit"),
        (SimpleUploadedFile("../../cut.otio", b"{}"), "export"),
        (None, "This field is required."),
    ],
)
def test_files_that_are_no_edit_are_refused_in_words(owner_client, film, shots, file, sentence):
    if file:
        file.seek(0)
    answer = owner_client.post(address(), {"file": file} if file else {})
    assert answer.status_code == 422
    assert sentence in answer.content.decode()


def test_too_large_a_file_is_refused(owner_client, film, monkeypatch):
    monkeypatch.setattr("shots.forms.edit_import.LARGEST_EDIT_BYTES", 100)
    answer = owner_client.post(address(), {"file": edit_file(*CUT)})
    assert "are too much for an edit" in answer.content.decode()


def test_a_comparison_that_was_tampered_with_is_refused(owner_client, film, shots):
    answer = owner_client.post(address(), {"edit": signed(()) + "x"}, follow=True)
    assert "This comparison is damaged." in answer.content.decode()


@pytest.mark.parametrize(
    ("name", "code"),
    [("A010", "A010"), ("Shot 10: Föx!", "Shot-10-F-x"), ("…", "clip"), ("x" * 50, "x" * 20)],
)
def test_clip_names_become_codes_a_file_may_carry(name, code):
    assert with_codes([EditedShot(name, 10)])[0].code == code


def test_a_long_edit_asks_no_more_than_a_short_one(owner_client, film, shots):
    def ask(*items) -> int:
        with CaptureQueriesContext(connection) as asked:
            compared(owner_client, *items)
        return len(asked)

    few = ask(clip("N0", 60))
    assert ask(*(clip(f"N{n}", 60) for n in range(40))) == few


def test_the_same_edit_again_changes_nothing(owner_client, film, shots):
    answer = compared(owner_client, *(clip(shot.code, 48) for shot in shots))
    assert "The edit has the same shots at the same lengths." in answer.content.decode()
