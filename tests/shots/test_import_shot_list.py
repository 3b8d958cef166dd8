"""Bringing a shot list in: shown before it is written, written whole or not at all."""

import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from shots.models import Setup, Shot
from tests import factories

ADDRESS = "/productions/FELT/shots/import/"
LIST = (
    "Code,Description,Set-up,Difficulty,Length,Exposure,Held frames,Holds,Notes\r\n"
    'A010,"Fox wakes, yawns",S1,medium,4s06f,2,12,1,\r\n'
    "A020,=SUM(A1),Window,medium,2 s,1,0,0,'-3 is cold\r\n"
)


@pytest.fixture
def film(studio):
    factories.DifficultyFactory()
    return factories.ProductionFactory(code="FELT")


def look(client, text: str, **more):
    return client.post(ADDRESS, {"pasted": text, "act": "show"} | more)


def take(client, text: str, act: str = "take", seal: str | None = None):
    """Look, then do what the page's button does."""
    seal = look(client, text).context["plan"].seal if seal is None else seal
    return client.post(ADDRESS, {"pasted": text, "act": act, "seal": seal})


def stored() -> list[dict]:
    return list(Shot.objects.order_by("position").values())


def kinds(answer) -> list[str]:
    return [row.becomes for row in answer.context["plan"].rows]


def test_looking_writes_nothing_and_keeps_the_list_for_the_next_step(crew_client, film):
    page = look(crew_client, LIST)
    assert kinds(page) == ["new", "new"]
    assert not Shot.objects.exists()
    assert not Setup.objects.exists()
    assert "Fox wakes, yawns&quot;,S1" in page.text
    assert "Set-ups that will be made: S1, Window." in page.text


def test_a_clean_list_is_taken_and_taking_it_again_changes_nothing(crew_client, film):
    assert take(crew_client, LIST).status_code == 302
    first, second = film.shots.select_related("setup")
    assert (first.screen_frames, first.budget, first.setup.code) == (102, 46, "S1")
    assert (second.description, second.notes) == ("=SUM(A1)", "-3 is cold")
    before = stored()
    page = look(crew_client, LIST)
    assert kinds(page) == ["unchanged", "unchanged"]
    assert "The list changes nothing" in page.text
    take(crew_client, LIST)
    assert stored() == before
    assert Setup.objects.count() == 2
    assert Shot.history.count() == 2


def test_what_was_handed_out_comes_back_unchanged(owner_client, film):
    setup = factories.SetupFactory(production=film, code="S1", archived_at="2026-03-02T00:00Z")
    factories.ShotFactory(
        production=film, setup=setup, description="=cmd()", notes="one\r\ntwo", status="cut"
    )
    factories.ShotFactory(production=film, description="'tis Ωμέγα", screen_frames=101)
    before = stored()
    sheet = owner_client.get("/productions/FELT/shots/export/")
    assert sheet.headers["Content-Type"] == "text/csv; charset=utf-8; header=present"
    assert sheet.content.startswith(b"\xef\xbb\xbfCode,")
    assert b"'=cmd()" in sheet.content
    file = SimpleUploadedFile("list.csv", sheet.content)
    page = owner_client.post(ADDRESS, {"file": file, "act": "show"})
    assert kinds(page) == ["unchanged", "unchanged"]
    assert stored() == before


def test_a_change_is_shown_and_only_what_the_list_says_is_changed(owner_client, film):
    shot = factories.ShotFactory(production=film, code="A010", notes="keep me", status="shot")
    page = look(owner_client, "code;length\na010;3,5\n")
    assert "Read with semicolons" in page.text
    assert "2 s 00 f → 3 s 12 f" in page.text
    take(owner_client, "code;length\na010;3,5\n")
    shot.refresh_from_db()
    assert (shot.code, shot.screen_frames, shot.notes, shot.status, shot.version) == (
        "A010", 84, "keep me", "shot", 2,
    )  # fmt: skip


def test_errors_hold_everything_back_until_the_good_rows_are_chosen(owner_client, film):
    text = (
        "Code,Length,Difficulty,Set-up,Held frames,Holds\n"
        "A010,2,medium,S1,0,0\nA020,0,,S2,,\nA030,2,brutal,S3,,\nA040,1,,S4,99,1\nA010,3,,,,\n"
    )
    page = look(owner_client, text)
    assert kinds(page) == ["new", "errors", "errors", "errors", "errors"]
    for words in (
        "at least one frame",
        "“brutal” is not one of the studio’s: medium.",
        "Held frames: 99 held",
        "stands on line 2 already",
        "Take the 1 good row, leave 4 out",
    ):
        assert words in page.text
    assert take(owner_client, text).status_code == 409
    assert not Shot.objects.exists()
    assert take(owner_client, text, act="take good").status_code == 302
    assert [shot.code for shot in film.shots.all()] == ["A010"]
    # No set-up is made for a row that was left out.
    assert [setup.code for setup in Setup.objects.all()] == ["S1"]


def test_what_was_not_shown_is_not_written(owner_client, film):
    shot = factories.ShotFactory(production=film, code="A010")
    text = "Code,Length,Description\nA010,3,Fox sits\n"
    seal = look(owner_client, text).context["plan"].seal
    Shot.objects.filter(pk=shot.pk).update(exposure=4)
    met = take(owner_client, text, seal=seal)
    assert met.status_code == 409
    assert "changed since this was shown" in met.text
    shot.refresh_from_db()
    assert shot.screen_frames == 48


def test_a_set_up_may_be_named_in_words(owner_client, film):
    factories.SetupFactory(production=film, code="K", name="Kitchen, wide")
    text = "Code;Length;Set-up\nA010;1;kitchen, WIDE\nA020;1;Чердак\nA030;1;чердак\n"
    take(owner_client, text)
    assert [shot.setup.code for shot in film.shots.all()] == ["K", "S01", "S01"]
    assert Setup.objects.get(code="S01").name == "Чердак"
    assert kinds(look(owner_client, text)) == ["unchanged"] * 3


@pytest.mark.parametrize(
    ("codes", "after"),
    [
        (["A020", "B1"], ["A010", "A020", "B1", "A030"]),
        (["B1", "A010", "B2", "B3"], ["B1", "A010", "B2", "B3", "A020", "A030"]),
        (["B1", "B2"], ["A010", "A020", "A030", "B1", "B2"]),
    ],
)
def test_a_new_shot_stands_where_the_list_has_it(owner_client, film, codes, after):
    for code in ("A010", "A020", "A030"):
        factories.ShotFactory(production=film, code=code)
    take(owner_client, "Code,Length\n" + "".join(f"{code},2\n" for code in codes))
    assert [shot.code for shot in film.shots.all()] == after


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [
        ({"pasted": ""}, "The list is empty"),
        ({"pasted": "Name,Seconds\nx,1"}, "Code and Length are missing"),
        ({"file": SimpleUploadedFile("a.csv", b"")}, "The file is empty"),
        ({"file": SimpleUploadedFile("a.csv", "Code,Length\nŻ,1".encode("cp1250"))}, "line 2"),
        ({"file": SimpleUploadedFile("a.xlsx", b"PK\x03\x04")}, "spreadsheet workbook"),
        ({"pasted": "x" * 6_000_001}, "larger than 6 MB"),
        ({"pasted": ",\r"}, "Code and Length are missing"),
    ],
    ids=["empty", "no columns", "empty file", "encoding", "workbook", "too large", "only a comma"],
)
def test_what_is_no_list_is_answered_in_words(owner_client, film, sent, sentence):
    answer = owner_client.post(ADDRESS, sent | {"act": "show"})
    assert answer.status_code == 422
    assert sentence in answer.text


def test_a_file_in_another_encoding_is_read_when_it_is_named(owner_client, film):
    content = "Code,Length,Description\nA010,1,Żółw".encode("cp1250")
    file = SimpleUploadedFile("list.csv", content)
    page = owner_client.post(ADDRESS, {"file": file, "encoding": "cp1250", "act": "show"})
    assert page.context["plan"].rows[0].wanted.description == "Żółw"


def test_of_a_huge_list_the_first_rows_and_the_first_errors_are_shown(owner_client, film):
    rows = [f"A{n:05},{'soon' if n % 10 == 0 else 2}" for n in range(5000)]
    page = look(owner_client, "Code,Length\n" + "\n".join(rows))
    plan = page.context["plan"]
    assert (plan.counts["new"], plan.counts["errors"], len(plan.shown)) == (4500, 500, 400)
    assert "4,600 are not shown" in page.text
    assert len(re.findall("<tr>", page.text)) == 401


def test_a_list_is_written_whole_or_not_at_all(owner_client, film, monkeypatch):
    def broken(*args, **kwargs):
        raise RuntimeError("the disk is full")

    seal = look(owner_client, LIST).context["plan"].seal
    monkeypatch.setattr("shots.services.shot_list.bulk_create_with_history", broken)
    with pytest.raises(RuntimeError, match="disk is full"):
        take(owner_client, LIST, seal=seal)
    assert not Setup.objects.exists()
