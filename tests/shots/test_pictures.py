"""Pictures in the database: taken in once, judged, logged, decided on; and their pages."""

import errno
import io
import json
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import OperationalError, connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from PIL import Image
from pypdf import PdfReader

from shots.measuring import prepare
from shots.models import Picture, Session, SessionShot
from shots.queries.picture_log import log_plan
from shots.reading import PictureError
from shots.services import pictures as services
from shots.services.picture_intake import take_in, take_in_files
from shots.services.picture_judging import judge_arrival, judge_shot
from shots.services.picture_log import log_pictures
from shots.services.session_counts import add_pictures
from shots.services.sessions import start_session
from studio.errors import EditedMeanwhile, NotPossible
from tests import factories, stills

NOW = datetime(2026, 3, 5, 12, tzinfo=UTC)
START = datetime(2026, 3, 2, 15, 55, 55)


@pytest.fixture(scope="module")
def row() -> list[stills.Still]:
    """Ten pictures in a row."""
    set_ = stills.Set((640, 480), 6, start=START)
    return [stills.still(set_, n) for n in range(10)]


@pytest.fixture
def shot(studio):
    with timezone.override(studio.zone):  # as every request and command does
        yield factories.ShotFactory(production__code="FELT", code="A010")


def taken(shot, *sent: stills.Still) -> list[Picture]:
    files = [(one.name, io.BytesIO(one.data)) for one in sent]
    outcome = take_in_files(shot, files, None, NOW)
    assert outcome.refused == []
    return outcome.new


def png(size=(200, 150), mode="RGB", **how) -> bytes:
    out = io.BytesIO()
    Image.new(mode, size, 128).save(out, "PNG", **how)
    return out.getvalue()


def with_clock(still: stills.Still, **changed) -> stills.Still:
    """The same picture with other Exif."""
    set_ = stills.Set((640, 480), 6, start=START)
    out = io.BytesIO()
    image = Image.open(io.BytesIO(still.data))
    image.save(out, "JPEG", quality=90, exif=stills.exif_of(set_, 0, **changed))
    return stills.Still(still.name, out.getvalue())


# ----- taking in


def test_a_picture_is_in_a_shot_once_however_often_it_is_sent(shot, row):
    taken(shot, *row[:3])
    again = take_in_files(shot, [("other-name.jpg", io.BytesIO(row[1].data))], None, NOW)
    assert (again.new, again.known) == ([], 1)
    assert again.said == ["P0002.jpg is in A010 already."]
    assert shot.pictures.count() == 3


def test_thumbnails_are_a_few_kilobytes_under_a_random_name(shot, row):
    [picture] = taken(shot, row[0])
    assert picture.thumbnail.size < 15_000
    assert "P0001" not in picture.thumbnail.name
    assert not picture.original


def test_originals_are_kept_only_where_the_studio_says_so(shot, row):
    services.keep_originals(shot.production, True)
    shot.production.refresh_from_db()
    [picture] = taken(shot, row[0])
    with picture.original.open("rb") as kept:
        assert kept.read() == row[0].data


def test_the_same_picture_in_two_shots_is_said(shot, row):
    other = factories.ShotFactory(production=shot.production, code="A020")
    taken(other, row[0])
    outcome = take_in_files(shot, [(row[0].name, io.BytesIO(row[0].data))], None, NOW)
    assert outcome.said == ["P0001.jpg is in FELT A020 as well."]
    assert len(outcome.new) == 1


BAD = [
    ("empty.jpg", b"", "is empty"),
    ("words.jpg", b"not a picture at all", "is not a picture"),
    ("short.png", png()[:100], "cut short"),
    ("moving.gif", b"GIF89a" + bytes(40), "JPEG or PNG"),
    ("small.png", png((40, 40)), "too small"),
    ("wide.png", png((30_000, 2200), "1"), "too large"),
    (
        "film.png",
        png(save_all=True, append_images=[Image.new("RGB", (200, 150), 3)]),
        "is animated",
    ),
]


@pytest.mark.parametrize(("name", "data", "why"), BAD, ids=[name for name, _, _ in BAD])
def test_a_bad_file_is_said_in_a_sentence_and_the_rest_go_in(shot, row, name, data, why):
    files = [(name, io.BytesIO(data)), (row[0].name, io.BytesIO(row[0].data))]
    outcome = take_in_files(shot, files, None, NOW)
    assert len(outcome.new) == 1
    assert len(outcome.refused) == 1
    assert outcome.refused[0].startswith(name)
    assert why in outcome.refused[0]
    assert len(default_storage.listdir("thumbnails")[0]) == 1


def test_cmyk_and_sixteen_bit_pictures_go_in(shot):
    cmyk = io.BytesIO()
    Image.new("CMYK", (320, 240), (10, 20, 30, 40)).save(cmyk, "JPEG")
    deep = png((320, 240), "I;16")
    files = [("cmyk.jpg", io.BytesIO(cmyk.getvalue())), ("deep.png", io.BytesIO(deep))]
    outcome = take_in_files(shot, files, None, NOW)
    assert outcome.refused == []
    assert len(outcome.new) == 2


@pytest.mark.parametrize("clock", ["0001:01:01 00:00:00", "yesterday", "2026:13:45 99:00:00"])
def test_a_clock_no_calendar_has_is_no_clock(shot, row, clock):
    [picture] = taken(shot, with_clock(row[0], DateTimeOriginal=clock))
    assert picture.taken_at is None
    assert picture.day == date(2026, 3, 5)
    judge_shot(shot, NOW)
    assert log_plan(shot.production, NOW).untimed == 1


def files_kept() -> list[str]:
    """Every file in the store."""
    found = []
    for kind in default_storage.listdir("")[0] if default_storage.exists("") else []:
        for folder in default_storage.listdir(kind)[0]:
            found += default_storage.listdir(f"{kind}/{folder}")[1]
    return found


@pytest.fixture
def full_disk(monkeypatch):
    """Half of what is written fits; then the system says so, as write(2) does: ENOSPC."""

    class Full(io.FileIO):
        def write(self, data):
            super().write(bytes(data[: len(data) // 2]))
            raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(
        "django.core.files.storage.filesystem.os.fdopen", lambda fd, mode: Full(fd, mode)
    )


@pytest.mark.parametrize("originals", [False, True])
def test_no_space_left_leaves_nothing_half_written(shot, row, full_disk, originals):
    services.keep_originals(shot.production, originals)
    shot.production.refresh_from_db()
    outcome = take_in_files(shot, [(row[0].name, io.BytesIO(row[0].data))], None, NOW)
    assert outcome.refused == [
        "P0001.jpg could not be kept: no space left on device. Make room, then send it again."
    ]
    assert not Picture.objects.exists()
    assert files_kept() == []


def test_an_upload_to_a_full_disk_is_answered_in_a_sentence(shot, row, crew_client, full_disk):
    answer = send(crew_client, shot, (row[0].name, row[0].data), accept="application/json")
    assert answer.status_code == 200
    assert "no space left on device" in answer.json()["refused"][0]


def test_a_row_that_is_not_written_takes_its_file_along(shot, row, monkeypatch):
    def full(self, *args, **kwargs):
        raise OperationalError("database or disk is full")

    monkeypatch.setattr(Picture, "save", full)
    with pytest.raises(PictureError, match="database or disk is full"):
        take_in(shot, prepare(io.BytesIO(row[0].data), "P0001.jpg"), None, NOW)
    assert files_kept() == []


def test_pictures_that_are_in_but_not_judged_are_said(shot, row, crew_client, monkeypatch):
    def full(*args, **kwargs):
        raise OperationalError("database or disk is full")

    monkeypatch.setattr("django.db.models.query.QuerySet.bulk_update", full)
    answer = send(crew_client, shot, (row[0].name, row[0].data), accept="application/json").json()
    said = "The pictures are in, but not judged: database or disk is full. Make room, then judge"
    assert answer["new"] == 1
    assert answer["said"][0].startswith(said)
    judge = sheet_of(shot) + "judge/"
    assert said in crew_client.post(judge, follow=True).content.decode()
    answer = crew_client.post(judge, headers={"accept": "application/json"})
    assert answer.status_code == 422
    assert answer.json()["said"][0].startswith(said)
    assert not shot.pictures.filter(judged_at__isnull=False).exists()


@pytest.mark.django_db(transaction=True)
def test_two_people_add_the_same_folder_at_once(shot, row):
    def add(person):
        try:
            return len(taken(shot, *row))
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as people:
        added = list(people.map(add, ["ida", "teo"]))
    assert sum(added) == 10
    assert shot.pictures.count() == 10


def test_a_cut_or_archived_shot_takes_no_pictures(shot, row):
    shot.status = "cut"
    with pytest.raises(NotPossible, match="is cut from the film"):
        taken(shot, row[0])


# ----- judging


def test_a_hand_is_flagged_once_the_next_picture_is_in(shot):
    set_ = stills.Set((640, 480), 6, start=START)
    hand = stills.shot_with(set_, 12, stills.Fault("hand", 0.1), at=5)[5]
    for n in range(7):
        [picture] = taken(shot, hand if n == 5 else stills.still(set_, n))
        judge_arrival(picture)
    sixth = shot.pictures.get(name="P0006.jpg")
    assert [flag["kind"] for flag in sixth.flags] == ["intruder"]
    assert sixth.judged_at is None
    assert judge_shot(shot, NOW) == 1
    assert shot.pictures.filter(judged_at=NOW).count() == 7


def test_automatic_exposure_is_said_at_the_first_picture(shot, row):
    [picture] = taken(shot, with_clock(row[0], ExposureMode=0, WhiteBalance=0))
    judge_arrival(picture)
    assert {flag["field"] for flag in picture.flags} == {"exposure_auto", "white_balance_auto"}


def test_the_first_picture_is_held_against_the_lock_card(shot, row):
    shot.setup = factories.SetupFactory(
        production=shot.production, iso=200, shutter="1/2", aperture=8, focal_length_mm=50
    )
    [picture] = taken(shot, row[0])
    picture.shot = shot
    judge_arrival(picture)
    assert picture.flags == [{"kind": "exif", "field": "iso", "old": 200.0, "new": 100.0}]


def test_a_declared_light_change_is_not_flagged(shot, row):
    set_ = stills.Set((640, 480), 6, start=START)
    taken(shot, *row[:5], stills.still(set_, 5, gain=1.1), *row[6:])
    assert judge_shot(shot, NOW) == 1
    shot = services.declare(shot, shot.version, camera_moves=False, light_changes=True)
    assert judge_shot(shot, NOW) == 0
    with pytest.raises(EditedMeanwhile):
        services.declare(shot, 1, camera_moves=True, light_changes=True)


def test_a_discarded_picture_is_not_judged_again(shot):
    set_ = stills.Set((640, 480), 6, start=START)
    flicker = stills.still(set_, 5, gain=1.1)
    pictures = taken(shot, *(flicker if n == 5 else stills.still(set_, n) for n in range(10)))
    judge_shot(shot, NOW)
    services.give_verdict(pictures[5], "discard")
    assert judge_shot(shot, NOW) == 0
    assert not Picture.objects.flagged().exists()


# ----- logging


def test_logging_writes_what_was_shown(shot, row, owner):
    taken(shot, *row)
    plan = log_plan(shot.production, NOW)
    log_pictures(shot.production, plan.pictures, [owner], NOW)
    session = Session.objects.get()
    assert list(session.people.all()) == [owner]
    assert session.day == date(2026, 3, 2)
    assert session.ended_at - session.started_at == timedelta(minutes=4)
    assert log_plan(shot.production, NOW).is_empty


def test_a_plan_that_is_no_longer_true_is_not_written(shot, row):
    taken(shot, *row)
    with pytest.raises(NotPossible, match="10 pictures to log by now, not 8"):
        log_pictures(shot.production, 8, [], NOW)
    assert not Session.objects.exists()


def test_a_clock_in_the_future_makes_no_session(shot, row):
    taken(shot, with_clock(row[0], DateTimeOriginal="2031:01:01 10:00:00"))
    plan = log_plan(shot.production, NOW)
    assert (plan.sessions, plan.ahead) == ((), 1)


def test_pictures_without_a_clock_go_where_a_person_says(shot):
    set_ = stills.Set((640, 480), 6, exif=False)
    taken(shot, stills.still(set_, 0), stills.still(set_, 1))
    assert log_plan(shot.production, NOW).untimed == 2
    session = factories.SessionFactory(production=shot.production)
    log_pictures(shot.production, 2, [], NOW, into=session)
    assert SessionShot.objects.get().kept == 2


def test_a_hand_count_is_shown_before_it_is_replaced(shot, row):
    session = factories.SessionFactory(
        production=shot.production,
        started_at=datetime(2026, 3, 2, 14, tzinfo=UTC),
        ended_at=datetime(2026, 3, 2, 18, tzinfo=UTC),
    )
    factories.SessionShotFactory(session=session, shot=shot, kept=12, discarded=1)
    taken(shot, *row)
    [planned] = log_plan(shot.production, NOW).sessions
    assert planned.session == session
    assert planned.shots[0].was_counted
    assert (planned.shots[0].kept, planned.shots[0].discarded) == (10, 1)


def test_pictures_before_and_after_another_session_are_sessions_of_their_own(shot, row):
    factories.SessionFactory(
        production=shot.production,
        started_at=datetime(2026, 3, 2, 14, 57, tzinfo=UTC),
        ended_at=datetime(2026, 3, 2, 14, 58, tzinfo=UTC),
    )
    taken(shot, *row)
    plan = log_plan(shot.production, NOW)
    assert [len(one.pictures) for one in plan.sessions] == [4, 3, 3]
    log_pictures(shot.production, plan.pictures, [], NOW)
    assert Session.objects.count() == 3


# ----- deciding


def test_a_verdict_counts_in_a_finished_session_and_enters_its_history(shot, row):
    pictures = taken(shot, *row)
    log_pictures(shot.production, 10, [], NOW)
    before = services.give_verdict(pictures[3], "discard")
    output = SessionShot.objects.get()
    assert (before, output.kept, output.discarded) == ("leave", 9, 1)
    assert [(h.kept, h.discarded) for h in output.history.all()] == [(9, 1), (10, 0)]
    services.give_verdict(pictures[3], "keep")
    output.refresh_from_db()
    assert (output.kept, output.discarded) == (10, 0)


def test_a_verdict_in_a_running_session_keeps_the_taps(shot, row, owner):
    [picture] = taken(shot, row[0])
    session = start_session(shot.production, None, [], [], owner, NOW)
    log_pictures(shot.production, 1, [], NOW, into=session)
    add_pictures(session, shot, "kept", 5)
    services.give_verdict(picture, "discard")
    output = SessionShot.objects.get()
    assert (output.kept, output.discarded) == (5, 1)


@pytest.mark.parametrize("frames", [0, -2, 10_001])
def test_a_hold_is_at_least_a_frame(shot, row, frames):
    [picture] = taken(shot, row[0])
    with pytest.raises(NotPossible, match="enter 1 to 10000"):
        services.hold_picture(picture, frames)


def shown(shot, client) -> list[int]:
    """Picture numbers as the player shows them."""
    return [frame["number"] for frame in client.get(sheet_of(shot) + "frames/").json()["frames"]]


def test_pictures_are_shown_again_where_a_person_says(shot, row, crew_client):
    pictures = taken(shot, *row[:4])
    here = f"/productions/FELT/pictures/{pictures[3].pk}/"
    fields = {"frames": 4, "again_from": 1, "again_to": 3, "again_times": 2}
    assert crew_client.post(here + "hold/", fields).status_code == 302
    assert shown(shot, crew_client) == [1, 2, 3, 4, 1, 2, 3, 1, 2, 3]
    page = crew_client.get(here).content.decode()
    assert 'name="again_to" value="3"' in page
    sheet = crew_client.get(sheet_of(shot)).content.decode()
    assert "Frames: 12 shown again" in sheet
    assert sheet.count(", again</title>") == 6
    assert "Picture 4: 4 frames, held" in sheet

    services.give_verdict(pictures[1], "discard")  # it is left out there too
    assert shown(shot, crew_client) == [1, 3, 4, 1, 3, 1, 3]

    crew_client.post(here + "hold/", {"frames": "", "again_times": 1})
    assert shown(shot, crew_client) == [1, 3, 4]


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"again_from": 1, "again_to": 9, "again_times": 1}, "There is no picture 9: the shot has"),
        ({"again_from": 1, "again_times": 1}, "Give the first and the last picture, or neither."),
        (
            {"again_from": 1, "again_to": 3, "again_times": 20},
            "That is 120 frames; the shot has 48",
        ),
        ({"again_from": 0, "again_to": 3}, "greater than or equal to 1"),
    ],
)
def test_what_cannot_be_shown_again_is_said(shot, row, crew_client, fields, sentence):
    pictures = taken(shot, *row[:3])
    answer = crew_client.post(f"/productions/FELT/pictures/{pictures[2].pk}/hold/", fields)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert shown(shot, crew_client) == [1, 2, 3]


# ----- pages


def sheet_of(shot) -> str:
    return f"/productions/FELT/shots/{shot.pk}/pictures/"


def many(shot, count: int) -> None:
    """Rows without files: what a long shot asks of the pages."""
    found = {"gain": 1.0, "rb": 1.0, "dx": 0.0, "dy": 0.0, "rot": 0.0, "sharp": 1.0}
    Picture.objects.bulk_create(
        Picture(
            shot=shot,
            sha256=f"{n:064x}",
            name=f"P{n:05}.jpg",
            place=f"2026-03-02 p{n:012}.jpg",
            day=date(2026, 3, 2),
            taken_at=datetime(2026, 3, 2, 9, tzinfo=UTC) + timedelta(seconds=10 * n),
            width=4000,
            height=3000,
            brightness=0.3,
            measure=b"",
            found=found,
            flags=[{"kind": "flicker", "change": 0.02, "mode": "once"}] if n % 50 == 1 else [],
            is_flagged=n % 50 == 1,
            judged_at=NOW,
            thumbnail=f"thumbnails/{n}.jpg",
        )
        for n in range(count)
    )


def queries_of(client, address: str) -> int:
    with CaptureQueriesContext(
        connection,
    ) as caught:
        assert client.get(address).status_code == 200
    return len(caught)


@pytest.mark.parametrize("page", ["sheet", "list", "play", "one"])
def test_queries_do_not_grow_with_the_pictures(shot, owner_client, page):
    many(shot, 2)
    first = shot.pictures.first().pk
    address = {
        "sheet": sheet_of(shot),
        "list": "/productions/FELT/pictures/",
        "play": sheet_of(shot) + "play/",
        "one": f"/productions/FELT/pictures/{first}/",
    }[page]
    few = queries_of(owner_client, address)
    shot.pictures.all().delete()
    many(shot, 2000)
    address = address.replace(f"pictures/{first}/", f"pictures/{shot.pictures.first().pk}/")
    assert queries_of(owner_client, address) == few
    assert few < 25


def test_a_long_shot_is_shown_in_pages_of_lazy_thumbnails(shot, owner_client):
    many(shot, 450)
    page = owner_client.get(sheet_of(shot) + "?page=3").content.decode()
    assert page.count('<img loading="lazy"') == 50
    assert "Page 3 of 3" in page
    flagged = owner_client.get(sheet_of(shot) + "?show=flagged").content.decode()
    assert flagged.count('<img loading="lazy"') == 9


def test_five_thousand_pictures_are_a_page_as_any_other(shot, owner_client):
    many(shot, 5000)
    assert queries_of(owner_client, sheet_of(shot)) < 25
    page = owner_client.get(sheet_of(shot)).content.decode()
    assert "Page 1 of 25" in page
    assert "5000 of 24" in page
    frames = owner_client.get(sheet_of(shot) + "frames/").json()["frames"]
    assert len(frames) == 5000


def test_a_long_shot_draws_pictures_of_a_kind_together(shot, owner_client):
    many(shot, 450)
    services.hold_picture(shot.pictures.all()[299], 6)
    page = owner_client.get(sheet_of(shot)).content.decode()
    assert "Pictures 1 to 299: 598 frames<" in page
    assert "Picture 300: 6 frames, held<" in page
    assert "Pictures 301 to 450: 300 frames<" in page


def send(client, shot, *files, **headers):
    return client.post(
        sheet_of(shot) + "add/",
        {"pictures": [SimpleUploadedFile(name, data) for name, data in files]},
        headers=headers,
    )


def test_without_javascript_a_form_takes_them_all(shot, row, owner_client):
    answer = send(owner_client, shot, *((one.name, one.data) for one in row[:3]), ("x.jpg", b"x"))
    assert answer.status_code == 302
    page = owner_client.get(answer.url).content.decode()
    assert "3 pictures came in." in page
    assert "x.jpg is not a picture: use JPEG or PNG." in page
    assert shot.pictures.filter(judged_at__isnull=False).count() == 3


def test_an_empty_form_comes_back_with_its_sentence(shot, owner_client):
    answer = owner_client.post(sheet_of(shot) + "add/")
    assert answer.status_code == 422
    assert "Choose at least one picture." in answer.content.decode()


def test_the_script_asks_for_a_hash_before_it_sends(shot, row, owner_client):
    address = sheet_of(shot) + "known/"
    answer = send(owner_client, shot, (row[0].name, row[0].data), accept="application/json")
    assert json.loads(answer.content) == {"new": 1, "known": 0, "refused": [], "said": []}
    known = shot.pictures.get().sha256
    assert owner_client.get(address, {"sha256": known}).json() == {"known": True}
    assert owner_client.get(address, {"sha256": "0" * 64}).json() == {"known": False}
    assert owner_client.get(address, {"sha256": "'; drop"}).status_code == 422


def test_a_hostile_name_reaches_no_path_and_is_escaped(shot, row, owner_client):
    name = '<img src=x onerror="alert(1)">.jpg'
    send(owner_client, shot, (name, row[0].data), accept="application/json")
    picture = shot.pictures.get()
    assert "alert" not in picture.thumbnail.name
    for address in (sheet_of(shot), f"/productions/FELT/pictures/{picture.pk}/"):
        page = owner_client.get(address).content.decode()
        assert "<img src=x" not in page
        assert "&lt;img src=x" in page


def test_a_verdict_leads_back_with_its_undo(shot, row, crew_client):
    [picture] = taken(shot, row[0])
    here = f"/productions/FELT/pictures/{picture.pk}/"
    answer = crew_client.post(here + "verdict/", {"verdict": "discard"})
    assert answer.url == here + "?was=leave"
    assert "Marked: discard." in crew_client.get(answer.url).content.decode()
    crew_client.post(here + "verdict/", {"verdict": "burn"})
    picture.refresh_from_db()
    assert picture.verdict == "discard"


def test_an_original_is_saved_not_shown(shot, row, owner_client):
    services.keep_originals(shot.production, True)
    shot.production.refresh_from_db()
    [picture] = taken(shot, row[0])
    answer = owner_client.get(f"/productions/FELT/pictures/{picture.pk}/original/")
    assert answer.headers["Content-Disposition"].startswith("attachment")
    assert answer.headers["Content-Type"] == "application/octet-stream"


def test_the_difference_shows_what_moved(shot, row, owner_client):
    one, other = taken(shot, row[0], row[9])
    answer = owner_client.get(f"/productions/FELT/pictures/{one.pk}/difference/{other.pk}/")
    image = Image.open(io.BytesIO(answer.content)).convert("L")
    darkest, lightest = image.getextrema()
    assert darkest < 60
    assert lightest > 200


def test_the_player_leaves_out_what_was_discarded(shot, row, owner_client):
    pictures = taken(shot, *row[:3])
    services.give_verdict(pictures[1], "discard")
    services.hold_picture(pictures[2], 8)
    frames = owner_client.get(sheet_of(shot) + "frames/").json()
    assert frames["rate"] == 24
    assert [(one["number"], one["frames"]) for one in frames["frames"]] == [(1, 2), (3, 8)]


def test_playing_a_flashing_shot_is_warned_of(shot, owner_client):
    many(shot, 40)
    assert (
        "flashes more than three times"
        not in owner_client.get(sheet_of(shot) + "play/").content.decode()
    )
    odd = [picture.pk for picture in shot.pictures.all()][::2]
    shot.pictures.filter(pk__in=odd).update(brightness=0.6)
    assert (
        "flashes more than three times"
        in owner_client.get(sheet_of(shot) + "play/").content.decode()
    )


@pytest.mark.parametrize("address", ["shots/{}/pictures/sheet/", "pictures/day/2026-03-02/"])
def test_the_contact_sheet_prints_numbers_and_flags(shot, row, owner_client, address):
    set_ = stills.Set((640, 480), 6, start=START)
    pictures = taken(shot, *row[:5], stills.still(set_, 5, gain=1.1), *row[6:])
    judge_shot(shot, NOW)
    services.give_verdict(pictures[1], "discard")
    answer = owner_client.get("/productions/FELT/" + address.format(shot.pk))
    paper = PdfReader(io.BytesIO(answer.content))
    text = " ".join(paper.pages[0].extract_text().split())
    assert "P0006.jpg light +" in text
    assert "2 · discarded" in text
    assert "9 kept of 24 in the budget, 1 discarded" in text
    assert len(paper.pages[0].images) == 10
    assert len(paper.pages) == 1


def test_many_sessions_to_log_are_folded_away(shot, owner_client):
    many(shot, 450)
    assert "<details class=" not in owner_client.get(sheet_of(shot)).content.decode()
    for n, picture in enumerate(shot.pictures.all()):
        picture.taken_at += timedelta(days=n // 100)
        picture.save(update_fields=["taken_at"])
    page = owner_client.get(sheet_of(shot)).content.decode()
    assert "5 sessions, the first on 2 March 2026</summary>" in page
    assert "Log 450 pictures" in page


def test_one_picture_has_nothing_to_be_held_against(shot, row, owner_client):
    taken(shot, row[0])
    judge_shot(shot, NOW)
    assert "<polyline" not in owner_client.get(sheet_of(shot)).content.decode()
    taken(shot, row[1])
    judge_shot(shot, NOW)
    assert owner_client.get(sheet_of(shot)).content.decode().count("<polyline") == 3


def test_a_day_that_is_none_is_not_found(shot, owner_client):
    assert owner_client.get("/productions/FELT/pictures/day/2026-13-45/").status_code == 404


def test_crew_do_not_choose_what_is_kept(shot, crew_client):
    assert crew_client.post("/productions/FELT/pictures/originals/").status_code == 403


def test_a_session_page_lists_what_was_discarded_and_why(shot, row, crew_client):
    set_ = stills.Set((640, 480), 6, start=START)
    pictures = taken(shot, *row[:5], stills.still(set_, 5, gain=1.1), *row[6:])
    judge_shot(shot, NOW)
    log_pictures(shot.production, 10, [], NOW)
    today = crew_client.get("/").content.decode()
    assert "1 picture of The Felt Fox is flagged." in today
    services.give_verdict(pictures[5], "discard")
    session = Session.objects.get()
    page = crew_client.get(f"/productions/FELT/sessions/{session.pk}/").content.decode()
    assert "A010, P0006.jpg" in page
    assert "light +" in page
    assert "is flagged" not in crew_client.get("/").content.decode()
