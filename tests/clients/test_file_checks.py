"""A finished file checked in the background: begun, watched, judged, accepted in writing."""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import av
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clients.models import AcceptedException, FileCheck
from clients.services import file_checks as services
from clients.services.specifications import add_specification
from studio import long_work
from studio.errors import NotPossible
from tests import factories
from tests.clients.test_deliverables import words
from tests.films import Film, held, make

SMALL = replace(Film(), name="odd.mp4", pictures=held(12, 2))
NOW = datetime(2026, 11, 25, 13, 30, tzinfo=UTC)
SIZE_BOX = "Picture size, frame rate and length as listed"
PERSONS_BOX = "Titles and names spelled as approved"


@pytest.fixture(scope="module")
def finished(tmp_path_factory) -> Path:
    """Twelve frames on twos at 24, 128 × 96."""
    return make(SMALL, tmp_path_factory.mktemp("films"))


@pytest.fixture
def films(settings, tmp_path, finished) -> Path:
    """An allowed folder of this machine with the film in it."""
    folder = tmp_path / "films"
    folder.mkdir()
    (folder / "fox.mp4").write_bytes(finished.read_bytes())
    settings.DELIVERY_FOLDERS = [folder]
    return folder


@pytest.fixture
def file(studio):
    """A deliverable of a film of twelve frames, asked for as it is."""
    row = factories.DeliverableFactory(
        production__code="FELT",
        production__contracted_frames=12,
        specification=add_specification("Small", {"width": 128, "height": 96}),
    )
    for text in (SIZE_BOX, PERSONS_BOX):
        factories.DeliverableCheckFactory(deliverable=row, text=text)
    return row


@pytest.fixture
def page(file) -> str:
    return f"/productions/FELT/deliverables/{file.pk}/file/"


def do_the_work() -> None:
    """What the process beside the server does."""
    for row in FileCheck.objects.select_related("work"):
        long_work.carry_out.call(row.work.pk)


def checked(owner_client, page: str, path: str = "fox.mp4") -> FileCheck:
    assert owner_client.post(f"{page}path/", {"path": path}).status_code == 302
    do_the_work()
    return FileCheck.objects.select_related("work").first()


def ask_for(file, **items) -> None:
    file.specification.items = items
    file.specification.save()


def test_a_file_that_fits_is_ready_to_deliver(owner_client, films, file, page):
    row = checked(owner_client, page)
    assert row.fits is True
    assert row.work.note == "fox.mp4 fits."
    assert row.work.result_url == page
    # Filled in from the production: its rate, its length, and twos.
    assert row.wanted == {
        "width": 128, "height": 96, "frame_rate": "24",
        "frame_count": {"frames": 12, "tolerance": 0}, "cadence": {"exposure": 2},
    }  # fmt: skip
    assert len(row.sha256) == 64
    assert row.took is not None
    shown = words(owner_client.get(page))
    assert "5 of 5 fit" in shown
    assert "ready to deliver" in words(owner_client.get("/productions/FELT/deliverables/"))


def test_what_does_not_fit_says_wanted_found_and_what_to_do(owner_client, films, file, page):
    ask_for(file, width=1920, height=96)
    row = checked(owner_client, page)
    assert row.fits is False
    assert row.work.note == "fox.mp4 does not fit in 1 item."
    shown = words(owner_client.get(page))
    assert "1920 px" in shown
    assert "128 px" in shown
    assert "Export at a width of 1920 px" in shown
    assert "Its file does not fit: picture width" in words(
        owner_client.get("/productions/FELT/deliverables/")
    )


def test_results_fill_the_boxes_they_answer_and_leave_a_persons(owner_client, films, file, page):
    row = checked(owner_client, page)
    size, persons = file.checks.order_by("id")
    assert (size.filled_from, size.ticked_at) == (row, row.ended_at)
    assert (persons.filled_from, persons.is_ticked) == (None, False)
    ask_for(file, width=1920)
    checked(owner_client, page)
    size.refresh_from_db()
    assert size.filled_from != row
    assert not size.is_ticked
    shown = words(owner_client.get("/productions/FELT/deliverables/"))
    assert "measured: does not fit" in shown
    assert size.history.filter(ticked_at=row.ended_at).exists()


def test_a_box_that_is_measured_is_not_ticked_by_hand(owner_client, films, file, page):
    ask_for(file, width=1920)
    checked(owner_client, page)
    box = file.checks.get(text=SIZE_BOX)
    address = f"/productions/FELT/deliverables/{file.pk}/checks/{box.pk}/tick/"
    answer = owner_client.post(
        address, {"ticked": "yes", "read_version": box.version}, headers={"HX-Request": "true"}
    )
    assert answer.status_code == 422
    assert "check the file again" in words(answer)


def test_an_exception_is_accepted_in_writing_and_taken_back(owner_client, films, file, page):
    ask_for(file, width=1920)
    row = checked(owner_client, page)
    address = f"{page}{row.pk}/exceptions/"
    who = {"item": "width", "who": "Noor Haddad", "why": "Letter of 3 May: the small screen"}
    refused = owner_client.post(address, who | {"why": ""})
    assert refused.status_code == 422
    assert not AcceptedException.objects.exists()
    assert owner_client.post(address, who).status_code == 302
    assert "Accepted by Noor Haddad: Letter of 3 May" in words(owner_client.get(page))
    assert file.checks.get(text=SIZE_BOX).is_ticked
    assert "ready to deliver" in words(owner_client.get("/productions/FELT/deliverables/"))
    assert "accepted already" in words(owner_client.post(address, who))
    fits = owner_client.post(address, who | {"item": "cadence"})
    assert "That item fits" in words(fits)
    taken = AcceptedException.objects.get()
    owner_client.post(f"{page}exceptions/{taken.pk}/take-back/")
    assert "Picture width" in words(owner_client.get(page))
    assert not file.checks.get(text=SIZE_BOX).is_ticked


def test_a_check_is_known_to_be_of_an_earlier_specification(owner_client, films, file, page):
    checked(owner_client, page)
    ask_for(file, width=128, height=96, audio="present")
    assert "What is asked for was changed since" in words(owner_client.get(page))
    shown = words(owner_client.get("/productions/FELT/deliverables/"))
    assert "changed since its file was checked: check it again" in shown
    assert ", before what is asked for was changed" in shown


def test_one_file_at_a_time_is_checked_for_a_deliverable(owner_client, films, file, page):
    owner_client.post(f"{page}path/", {"path": "fox.mp4"})
    again = owner_client.post(f"{page}path/", {"path": "fox.mp4"})
    assert again.status_code == 422
    assert FileCheck.objects.count() == 1


def test_the_page_shows_the_work_and_how_to_stop_it(owner_client, films, file, page):
    owner_client.post(f"{page}path/", {"path": "fox.mp4"})
    work = FileCheck.objects.get().work
    shown = words(owner_client.get(page))
    assert "<progress" in shown
    stop = reverse("studio:work_stop", args=[work.pk])
    assert f'action="{stop}"' in shown
    owner_client.post(stop)
    do_the_work()
    row = FileCheck.objects.get()
    assert (row.fits, row.sha256) == (None, "")
    assert "It was stopped" in words(owner_client.get(page))
    assert checked(owner_client, page).fits


def test_a_running_check_stops_at_the_next_report(owner_client, films, file, page, monkeypatch):
    owner_client.post(f"{page}path/", {"path": "fox.mp4"})
    work = FileCheck.objects.get().work
    told = long_work.Report.progress

    def stopped_meanwhile(report, done, total, note=""):
        long_work.ask_to_stop(work)
        told(report, done, total, note)

    monkeypatch.setattr(long_work.Report, "progress", stopped_meanwhile)
    do_the_work()
    work.refresh_from_db()
    assert work.state == "stopped"
    assert FileCheck.objects.get().fits is None


@pytest.mark.parametrize(
    ("content", "sentence"),
    [(b"", "empty"), (b"a letter to the client", "not a film"), (None, "cut off")],
)
def test_a_file_that_is_no_whole_film_says_so(
    owner_client, films, file, page, finished, content, sentence
):
    if content is None:
        content = finished.read_bytes()[:-200]
    (films / "bad.mp4").write_bytes(content)
    row = checked(owner_client, page, "bad.mp4")
    assert row.fits is None
    assert sentence in row.refusal
    assert row.work.state == "failed"
    assert words(owner_client.get(page)).count(row.refusal.replace("'", "&#x27;")) >= 1


def test_a_file_with_sound_only_says_so(owner_client, films, file, page, finished):
    with av.open(str(finished)) as film, av.open(str(films / "sound.mp4"), "w") as out:
        sound = out.add_stream_from_template(film.streams.audio[0])
        for packet in film.demux(film.streams.audio[0]):
            if packet.dts is not None:
                packet.stream = sound
                out.mux(packet)
    assert "no video stream" in checked(owner_client, page, "sound.mp4").refusal


def test_a_file_that_may_not_be_read_says_so(owner_client, films, file, page, monkeypatch):
    def locked(path, *args):
        raise PermissionError(13, "Permission denied")

    owner_client.post(f"{page}path/", {"path": "fox.mp4"})
    monkeypatch.setattr(Path, "open", locked)
    do_the_work()
    assert "change its permissions" in FileCheck.objects.get().refusal


@pytest.mark.parametrize(
    ("odd", "items", "said"),
    [
        (replace(SMALL, jitter=(3,)), {"constant_rate": True}, "uneven, first at frame 3"),
        (replace(SMALL, rotation=90), {"width": 128}, "a flag that turns it by 90°"),
        (replace(SMALL, sound_streams=2), {"audio": "present"}, "present, 2 streams"),
        (replace(SMALL, name="odd.mov"), {"container": "mp4"}, "mov"),
    ],
    ids=["variable rate", "rotation flag", "several streams", "another container"],
)
def test_an_odd_film_is_told_in_words_on_the_page(
    owner_client, films, file, page, odd, items, said
):
    ask_for(file, **items)
    make(odd, films)
    checked(owner_client, page, odd.name)
    assert said in words(owner_client.get(page))


def test_a_wrong_extension_is_told(owner_client, films, file, page):
    ask_for(file, container="mp4")
    (films / "fox.mp4").rename(films / "fox.avi")
    checked(owner_client, page, "fox.avi")
    shown = words(owner_client.get(page))
    assert "mp4, named .avi" in shown
    assert "Give the file its true extension, .mp4." in shown


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("/etc/passwd", "allowed folder"),
        ("../stillcount.sqlite3", "climb"),
        ("fox\x1b.mp4", "control character"),
        ("none.mp4", "no such file"),
        ("out.mp4", "leads out"),
        ("", "required"),
    ],
)
def test_a_path_that_may_not_be_opened_is_refused_at_its_field(
    owner_client, films, file, page, tmp_path, typed, sentence
):
    (films / "out.mp4").symlink_to("/etc/passwd")
    response = owner_client.post(f"{page}path/", {"path": typed})
    assert response.status_code == 422
    assert sentence in " ".join(response.context["path"].errors["path"])
    assert not FileCheck.objects.exists()


def test_a_link_laid_after_asking_is_refused_by_the_work(owner_client, films, file, page):
    owner_client.post(f"{page}path/", {"path": "fox.mp4"})
    (films / "fox.mp4").unlink()
    (films / "fox.mp4").symlink_to("/etc/passwd")
    do_the_work()
    assert "leads out" in FileCheck.objects.get().refusal


def test_captions_beside_the_film_may_not_be_a_link_that_leads_out(owner_client, films, file, page):
    ask_for(file, captions={"kind": "any"})
    (films / "fox.srt").symlink_to("/etc/passwd")
    row = checked(owner_client, page)
    assert "leads out" in row.refusal
    assert "root" not in row.refusal


def test_captions_beside_the_film_are_read(owner_client, films, file, page):
    ask_for(file, captions={"kind": "any"})
    (films / "fox.vtt").write_text("WEBVTT\n\n00:00.000 --> 00:00.400\nPaper rain.\n")
    row = checked(owner_client, page)
    assert row.fits
    assert row.captions_path == str(films / "fox.vtt")


def upload(name: str, content: bytes) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content, content_type="video/mp4")


def test_an_uploaded_film_is_kept_under_a_name_of_our_own(
    owner_client, file, page, finished, settings
):
    ask_for(file, width=128, captions={"kind": "srt"})
    captions = b"1\n00:00:00,000 --> 00:00:00,400\nPaper rain.\n"
    sent = {
        "film": upload("../../Żółć; rm -rf.MP4", finished.read_bytes()),
        "captions": upload("words.srt", captions),
    }
    assert owner_client.post(f"{page}upload/", sent).status_code == 302
    do_the_work()
    row = FileCheck.objects.get()
    path = Path(row.path)
    assert path.parent == settings.DATA_DIR / "deliveries" / "uploaded"
    assert path.suffix == ".mp4"
    assert len(path.stem) == 32
    assert path.stat().st_mode & 0o077 == 0
    assert row.name == "Żółć; rm -rf.MP4"
    assert row.fits, row.results


def test_a_film_too_large_to_send_is_refused_in_words(owner_client, file, page, settings):
    settings.LARGEST_FILM_UPLOAD_BYTES = 1000
    response = owner_client.post(f"{page}upload/", {"film": upload("a.mp4", b"x" * 1001)})
    assert response.status_code == 422
    assert "give its path" in " ".join(response.context["upload"].errors["film"])
    assert not (settings.DATA_DIR / "deliveries" / "uploaded").exists()


def test_an_empty_upload_is_refused(owner_client, file, page):
    response = owner_client.post(f"{page}upload/", {"film": upload("a.mp4", b"")})
    assert "choose the film itself" in " ".join(response.context["upload"].errors["film"])


def test_a_full_disk_is_said_in_words_and_leaves_nothing(file, owner, monkeypatch, settings):
    film, captions = upload("a.mp4", b"film"), upload("a.srt", b"words")

    def full():
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(film, "chunks", full)
    with pytest.raises(NotPossible, match="No space left"):
        services.begin_uploaded_check(file, film, captions, owner, NOW)
    assert not list((settings.DATA_DIR / "deliveries" / "uploaded").iterdir())
    assert not FileCheck.objects.exists()


def test_an_upload_that_cannot_be_checked_now_is_not_kept(
    owner_client, films, file, page, settings
):
    owner_client.post(f"{page}path/", {"path": "fox.mp4"})
    refused = owner_client.post(f"{page}upload/", {"film": upload("a.mp4", b"film")})
    assert refused.status_code == 422
    assert "A file is being checked for it already" in words(refused)
    assert not list((settings.DATA_DIR / "deliveries" / "uploaded").iterdir())


@pytest.mark.django_db(transaction=True)
def test_a_newer_upload_takes_the_one_before_off_the_disk(owner_client, file, page, finished):
    for _ in range(2):
        owner_client.post(f"{page}upload/", {"film": upload("a.mp4", finished.read_bytes())})
        do_the_work()
    newer, older = FileCheck.objects.all()
    assert not Path(older.path).exists()
    assert Path(newer.path).exists()
    assert older.fits


def test_an_archive_that_asks_for_nothing_measured_is_only_hashed(owner_client, films, file, page):
    ask_for(file, stills=1)
    (films / "stills.tar").write_bytes(b"pictures")
    row = checked(owner_client, page, "stills.tar")
    assert (row.fits, row.results) == (True, [])
    # By `printf pictures | sha256sum` (GNU coreutils).
    assert row.sha256 == "752f502ee3ac574467c34d2881aabe52eac51a2491d707bf11b09d2b9f0d4546"


def test_a_file_changed_while_it_is_checked_is_refused(
    owner_client, films, file, page, monkeypatch
):
    real = services.check_file

    def and_export_again(path, *args, **kwargs):
        found = real(path, *args, **kwargs)
        path.write_bytes(b"another export")
        return found

    monkeypatch.setattr(services, "check_file", and_export_again)
    assert "changed while it was checked" in checked(owner_client, page).refusal


def test_the_pages_ask_the_same_of_the_database_for_one_check_and_for_many(
    owner_client, films, file, page
):
    def queries(address: str) -> int:
        with CaptureQueriesContext(connection) as captured:
            assert owner_client.get(address).status_code == 200
        return len(captured)

    ask_for(file, width=1920)
    checked(owner_client, page)
    listed = "/productions/FELT/deliverables/"
    one = (queries(page), queries(listed))
    row = FileCheck.objects.get()
    for n in range(20):
        row.pk, row.work = None, None
        row.save()
        AcceptedException.objects.create(
            file_check=row, item="width", who=f"Noor {n}", why="Letter", at=NOW
        )
    assert (queries(page), queries(listed)) == one
