"""The table of shots: who may, what is refused, and what each act does."""

import io

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from PIL import Image

from shots.models import Shot
from tests import factories

HTMX = {"HX-Request": "true"}


@pytest.fixture
def film(studio):
    factories.DifficultyFactory()
    return factories.ProductionFactory(code="FELT")


def fields(shot: Shot | None = None, **changes) -> dict:
    """What the form of a shot sends."""
    difficulty = factories.DifficultyFactory()
    sent = {
        "code": "A010", "description": "", "setup": "", "difficulty": difficulty.pk,
        "screen_frames": "2 s", "exposure": 2, "held_frames": 0, "holds": 0, "reused_frames": 0,
        "handle_frames": 0, "status": "to shoot", "notes": "",
    }  # fmt: skip
    if shot:
        sent |= {"code": shot.code, "read_version": shot.version}
    return sent | changes


def order(film) -> list[str]:
    return [shot.code for shot in film.shots.current()]


def picture(kind: str = "PNG", size=(60, 40), **options) -> io.BytesIO:
    file = io.BytesIO()
    Image.new("RGB", size, "salmon").save(file, kind, **options)
    file.seek(0)
    file.name = f"drawing.{kind.lower()}"
    return file


def test_crew_add_and_change_shots(crew_client, film):
    added = crew_client.post("/productions/FELT/shots/new/", fields(screen_frames="4s06f"))
    assert added.status_code == 302
    shot = film.shots.get()
    assert (shot.code, shot.screen_frames, shot.budget) == ("A010", 102, 51)
    saved = crew_client.post(
        f"/productions/FELT/shots/{shot.pk}/", fields(shot, exposure=1), headers=HTMX
    )
    assert saved.status_code == 200
    shot.refresh_from_db()
    assert (shot.exposure, shot.version) == (1, 2)
    assert 'hx-swap-oob="true"' in saved.text


def test_a_visitor_is_led_to_the_sign_in(client, film):
    shot = factories.ShotFactory(production=film)
    for address in ("", "new/", "import/", "export/", f"{shot.pk}/", f"{shot.pk}/storyboard/"):
        answer = client.get(f"/productions/FELT/shots/{address}")
        assert answer.status_code == 302
        assert answer.url.startswith("/sign-in/")


@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("screen_frames", "", "Give the shot a length"),
        ("screen_frames", "0", "at least one frame"),
        ("screen_frames", "-2", "cannot be negative"),
        ("screen_frames", "soon", "is not a length"),
        ("screen_frames", "9e9", "is not a length"),
        ("screen_frames", "99999999", "stops at 24 hours"),
        ("exposure", "0", "Write a whole number from 1 to 1,000"),
        ("exposure", "99999999999999999999", "Write a whole number from 1 to 1,000"),
        ("held_frames", "49", "49 held and 0 reused frames are 1 more than the 48 frames"),
        ("held_frames", "-1", "Write a whole number from 0"),
        ("holds", "-1", "Write a whole number from 0"),
        ("reused_frames", "60", "12 more than the 48 frames"),
        ("handle_frames", "1.5", "Write a whole number from 0"),
        ("handle_frames", "1e99", "Write a whole number from 0"),
        ("code", "ŻÓŁW", "Use letters A–Z"),
        ("difficulty", "999", "Select a valid choice"),
        ("status", "cut", "Select a valid choice"),
    ],
)
def test_bad_input_is_answered_at_its_field_and_nothing_is_kept(
    owner_client, film, field, typed, sentence
):
    sent = fields(**{field: typed})
    if field == "held_frames":
        sent["holds"] = 1
    answer = owner_client.post("/productions/FELT/shots/new/", sent, headers=HTMX)
    assert answer.status_code == 422
    assert any(sentence in error for error in answer.context["form"].errors[field])
    assert not film.shots.exists()


def test_a_taken_code_is_refused_whatever_its_capitals(owner_client, film):
    factories.ShotFactory(production=film, code="A010")
    answer = owner_client.post("/productions/FELT/shots/new/", fields(code="a010"))
    assert answer.status_code == 422
    assert "Another shot has the code a010 already" in answer.text


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"screen_frames": "4s06f", "exposure": 2}, "<strong>51</strong> pictures"),
        ({"screen_frames": "102 f", "exposure": 1}, "<strong>102</strong> pictures"),
        ({"screen_frames": "00:00:04:06", "exposure": 2}, "<strong>51</strong>"),
        ({"screen_frames": "4.25", "held_frames": 12, "holds": 1}, "<strong>46</strong>"),
        ({"screen_frames": "1 f"}, "<strong>1</strong> picture "),
        ({"held_frames": 100, "holds": 1}, "Held frames: 100 held"),
        ({"held_frames": 2, "holds": 3}, "Held frames: 3 holds need at least 3 held frames"),
        ({"held_frames": 2}, "Holds: 2 held frames need at least 1 hold"),
        ({"screen_frames": "soon"}, "Length: “soon” is not a length"),
    ],
)
def test_pictures_are_counted_as_one_types(crew_client, film, typed, said):
    """ceil((F + A - H - U) / e) + k at 24 frames a second."""
    sent = {name: value for name, value in fields(**typed).items() if name != "code"}
    assert said in crew_client.get("/productions/FELT/shots/pictures/", sent).text


def test_two_people_at_one_shot_see_both_versions_and_choose(owner_client, crew_client, film):
    close, wide = (factories.SetupFactory(production=film, code=code) for code in ("S1", "S2"))
    shot = factories.ShotFactory(production=film, setup=close)
    address = f"/productions/FELT/shots/{shot.pk}/"
    crew_client.post(address, fields(shot, description="Fox sits", setup=wide.pk))
    mine = fields(shot, description="Fox jumps", setup=close.pk, screen_frames="3 s")
    met = owner_client.post(address, mine, headers=HTMX)
    assert met.status_code == 409
    for words in ("Fox sits", "Fox jumps", "S2 Kitchen, wide", "2 s 00 f", "3 s"):
        assert words in met.text
    shot.refresh_from_db()
    assert shot.description == "Fox sits"
    again = mine | {"read_version": met.context["form"]["read_version"].value()}
    assert owner_client.post(address, again).status_code == 302
    shot.refresh_from_db()
    assert (shot.description, shot.screen_frames) == ("Fox jumps", 72)


def test_a_copy_stands_right_after_its_shot_and_is_still_to_shoot(owner_client, film):
    first = factories.ShotFactory(production=film, code="A010", status="shot", retaken_pictures=2)
    factories.ShotFactory(production=film, code="A020")
    owner_client.post(f"/productions/FELT/shots/{first.pk}/duplicate/")
    assert order(film) == ["A010", "A010-2", "A020"]
    copy = film.shots.get(code="A010-2")
    assert (copy.status, copy.retaken_pictures, copy.version) == ("to shoot", 0, 1)


@pytest.mark.parametrize(
    ("shot", "sent", "after"),
    [
        ("A010", {"step": "down"}, ["A020", "A010", "A030"]),
        ("A030", {"step": "up"}, ["A010", "A030", "A020"]),
        ("A010", {"step": "up"}, ["A010", "A020", "A030"]),
        ("A030", {"before": "A010"}, ["A030", "A010", "A020"]),
        ("A010", {"after": "A030"}, ["A020", "A030", "A010"]),
        ("A010", {"after": "A010"}, ["A010", "A020", "A030"]),
    ],
)
def test_shots_move_by_button_and_by_drag(owner_client, film, shot, sent, after):
    # All at position 0, as rows made elsewhere may be: the order is still well defined.
    pks = {
        code: factories.ShotFactory(production=film, code=code, position=0).pk
        for code in ("A010", "A020", "A030")
    }
    sent = {side: pks.get(value, value) for side, value in sent.items()}
    answer = owner_client.post(f"/productions/FELT/shots/{pks[shot]}/move/", sent)
    assert answer.status_code == 302
    assert order(film) == after


def test_a_shot_moves_past_the_rows_a_filter_hides(owner_client, film):
    made = [
        factories.ShotFactory(production=film, code=code, status=status)
        for code, status in [("A010", "to shoot"), ("A020", "shot"), ("A030", "to shoot")]
    ]
    owner_client.post(f"/productions/FELT/shots/{made[2].pk}/move/?status=to+shoot", {"step": "up"})
    assert order(film) == ["A030", "A010", "A020"]


def test_a_split_keeps_every_frame_and_the_pictures_stay_with_the_first(owner_client, film):
    shot = factories.ShotFactory(production=film, code="A010", screen_frames=48, status="shot")
    factories.SessionShotFactory(shot=shot, kept=20)
    owner_client.post(f"/productions/FELT/shots/{shot.pk}/split/", {"at": "1.5"})
    first, second = film.shots.with_counts()
    assert (first.screen_frames, second.screen_frames) == (36, 12)
    assert (first.kept, second.kept) == (20, 0)
    assert (first.code, second.code, second.status) == ("A010", "A010-2", "to shoot")


@pytest.mark.parametrize("at", ["2 s", "9 s", "0", "", "-1", "soon"])
def test_a_split_that_leaves_nothing_is_refused_at_its_field(owner_client, film, at):
    shot = factories.ShotFactory(production=film, screen_frames=48)
    address = f"/productions/FELT/shots/{shot.pk}/split/"
    for headers in ({}, HTMX):
        answer = owner_client.post(address, {"at": at}, headers=headers)
        assert answer.status_code == 422
        assert answer.context["split"].errors["at"]
    assert film.shots.count() == 1


def test_a_retake_adds_to_what_is_left_and_never_more_than_is_kept(owner_client, film):
    shot = factories.ShotFactory(production=film, screen_frames=48, status="shot")
    factories.SessionShotFactory(shot=shot, kept=24)
    address = f"/productions/FELT/shots/{shot.pk}/retake/"
    for typed in ("0", "25", "", "many"):
        assert owner_client.post(address, {"pictures": typed}).status_code == 422
    owner_client.post(address, {"pictures": "5"})
    owner_client.post(address, {"pictures": "3"})
    again = Shot.objects.with_counts().get()
    assert (again.status, again.retaken_pictures) == ("to retake", 8)
    assert (again.kept, again.pictures_left) == (16, 8)


@pytest.mark.parametrize(
    ("kept", "retaken", "back"),
    [(0, 0, "to shoot"), (5, 0, "shooting"), (24, 0, "shot"), (24, 4, "to retake")],
)
def test_a_cut_shot_comes_back_as_its_pictures_say(owner_client, film, kept, retaken, back):
    shot = factories.ShotFactory(production=film, screen_frames=48, retaken_pictures=retaken)
    factories.SessionShotFactory(shot=shot, kept=kept)
    owner_client.post(f"/productions/FELT/shots/{shot.pk}/cut/")
    shot.refresh_from_db()
    assert shot.status == "cut"
    owner_client.post(f"/productions/FELT/shots/{shot.pk}/bring-back/")
    shot.refresh_from_db()
    assert shot.status == back


def test_archiving_can_be_undone_unless_the_code_went_to_another(owner_client, film):
    shot = factories.ShotFactory(production=film, code="A010")
    there = owner_client.post(f"/productions/FELT/shots/{shot.pk}/archive/", follow=True)
    assert "A010 was archived." in there.text
    assert order(film) == []
    owner_client.post(f"/productions/FELT/shots/{shot.pk}/restore/")
    assert order(film) == ["A010"]
    owner_client.post(f"/productions/FELT/shots/{shot.pk}/archive/")
    factories.ShotFactory(production=film, code="a010")
    refused = owner_client.post(f"/productions/FELT/shots/{shot.pk}/restore/", follow=True)
    assert "Another shot has the code A010 already" in refused.text
    assert order(film) == ["a010"]


def test_the_total_says_how_far_the_film_is_over_or_under(owner_client, film):
    factories.ShotFactory(production=film, screen_frames=732, status="to shoot")
    factories.ShotFactory(production=film, screen_frames=500, status="cut")
    page = owner_client.get("/productions/FELT/shots/")
    assert "The film is 30 s 12 f, 0 s 12 f over the contracted 30 s 00 f." in page.text
    assert page.context["totals"].budget == 366


@pytest.mark.parametrize(
    ("query", "shown"),
    [
        ("status=shot", ["A010"]),
        ("setup={setup}", ["A020"]),
        ("difficulty={hard}", ["A030"]),
        ("status=shot&setup={setup}", []),
        ("status=nonsense&setup=x&page=zz", ["A010", "A020", "A030"]),
        ("page=99999999999999999999", ["A010", "A020", "A030"]),
    ],
)
def test_shots_are_filtered(owner_client, film, query, shown):
    hard = factories.DifficultyFactory(name="hard")
    setup = factories.SetupFactory(production=film)
    factories.ShotFactory(production=film, code="A010", status="shot")
    factories.ShotFactory(production=film, code="A020", setup=setup)
    factories.ShotFactory(production=film, code="A030", difficulty=hard)
    query = query.format(setup=setup.pk, hard=hard.pk)
    page = owner_client.get(f"/productions/FELT/shots/?{query}")
    assert [shot.code for shot in page.context["page"].shots] == shown


def test_htmx_gets_the_part_and_a_way_back_gets_the_page(owner_client, film):
    address = "/productions/FELT/shots/"
    assert "<html" not in owner_client.get(address, headers=HTMX).text
    restored = HTMX | {"HX-History-Restore-Request": "true"}
    assert "<html" in owner_client.get(address, headers=restored).text
    assert "HX-Request" in owner_client.get(address).headers["Vary"]


def test_a_long_list_comes_in_pages(owner_client, film):
    Shot.objects.bulk_create(
        factories.ShotFactory.build(
            production=film, code=f"A{n:04}", position=n, difficulty=factories.DifficultyFactory()
        )
        for n in range(401)
    )
    pages = [owner_client.get(f"/productions/FELT/shots/?page={n}") for n in (1, 3)]
    assert [len(page.context["page"].shots) for page in pages] == [200, 1]
    assert "page 3 of 3" in pages[1].text


def test_the_table_takes_as_many_queries_for_many_shots_as_for_one(owner_client, film):
    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as caught:
            owner_client.get("/productions/FELT/shots/")
        return len(caught)

    def add_shot(n: int):
        shot = factories.ShotFactory(
            production=film,
            setup=factories.SetupFactory(production=film),
            difficulty=factories.DifficultyFactory(name=f"slow {n}"),
        )
        factories.SessionShotFactory(shot=shot)

    add_shot(0)
    queries()
    few = queries()
    for n in range(1, 20):
        add_shot(n)
    assert queries() == few


def test_a_storyboard_picture_is_drawn_anew_under_a_name_of_ours(crew_client, film):
    shot = factories.ShotFactory(production=film)
    address = f"/productions/FELT/shots/{shot.pk}/storyboard/"
    assert crew_client.get(address).status_code == 404
    upload = picture("PNG", (3200, 400))
    assert crew_client.post(address, {"picture": upload}).status_code == 302
    shot.refresh_from_db()
    assert "drawing" not in shot.storyboard.name
    served = crew_client.get(address)
    assert served.headers["Content-Type"] == "image/jpeg"
    assert served.headers["X-Content-Type-Options"] == "nosniff"
    with Image.open(io.BytesIO(b"".join(served.streaming_content))) as kept:
        assert (kept.format, kept.size) == ("JPEG", (1600, 200))
    crew_client.post(f"{address}remove/")
    assert crew_client.get(address).status_code == 404


def truncated() -> io.BytesIO:
    whole = picture("JPEG", (400, 400)).getvalue()
    return named(whole[: len(whole) // 2])


def named(content: bytes) -> io.BytesIO:
    file = io.BytesIO(content)
    file.name = "drawing.png"
    return file


def bomb() -> io.BytesIO:
    """A small file that says it has 400 million pixels."""
    file = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(file, "PNG")
    return named(file.getvalue())


@pytest.mark.parametrize(
    ("upload", "sentence"),
    [
        (lambda: named(b""), "The file is empty, 0 bytes."),
        (truncated, "This is not a whole picture"),
        (lambda: named(b"<svg onload=alert(1)>"), "This is not a whole picture"),
        (lambda: named(b"\x89PNG\r\n\x1a\n"), "This is not a whole picture"),
        (bomb, "64 million fit"),
        (lambda: named(b"x" * 2_000_001), "2 MB fit"),
    ],
    ids=["empty", "truncated", "no picture", "only a signature", "bomb", "too large"],
)
def test_what_is_no_storyboard_picture_is_refused_in_words(
    owner_client, film, settings, upload, sentence
):
    settings.LARGEST_STORYBOARD_BYTES = 2_000_000
    shot = factories.ShotFactory(production=film)
    address = f"/productions/FELT/shots/{shot.pk}/storyboard/"
    answer = owner_client.post(address, {"picture": upload()})
    assert answer.status_code == 422
    assert sentence in answer.text
    shot.refresh_from_db()
    assert not shot.storyboard
    assert not list(settings.MEDIA_ROOT.glob("**/*.jpg"))


def test_names_in_many_scripts_stand_on_the_page(owner_client, film):
    shot = factories.ShotFactory(production=film)
    said = "Żółw, Ωμέγα, Лиса, İğne, キツネ <b>"
    owner_client.post(f"/productions/FELT/shots/{shot.pk}/", fields(shot, description=said))
    assert said.replace("<b>", "&lt;b&gt;") in owner_client.get("/productions/FELT/shots/").text
