"""`manage.py intake FOLDER`: from a folder of pictures to a logged session."""

import io
import json
import shutil
from datetime import UTC, datetime, timedelta

import pytest
from django.core.management import CommandError, call_command
from django.db import OperationalError

from shots.management.commands.intake import ShotIntake, take_in_folder, watch
from shots.measuring import prepare_files
from shots.models import Picture, Session, SessionShot
from shots.services.pictures import keep_originals
from shots.services.session_counts import add_pictures
from tests import factories, stills


@pytest.fixture(scope="module")
def day(tmp_path_factory):
    """A folder of eight pictures, twenty seconds apart, with a break of 30 minutes after four."""
    folder = tmp_path_factory.mktemp("day")
    for n in range(8):
        start = datetime(2026, 3, 2, 15, 55, 55) + timedelta(minutes=30 if n > 3 else 0)
        set_ = stills.Set((640, 480), 6, start=start)
        (folder / f"P{n + 1:04}.jpg").write_bytes(stills.still(set_, n).data)
    return folder


@pytest.fixture
def shot(studio):
    return factories.ShotFactory(production__code="FELT", code="A010")


def intake(*words, status=None) -> dict:
    out = io.StringIO()
    if status is None:
        call_command("intake", *map(str, words), "--json", stdout=out)
    else:
        with pytest.raises(SystemExit) as leaving:
            call_command("intake", *map(str, words), "--json", stdout=out)
        assert leaving.value.code == status
    return json.loads(out.getvalue())


def test_a_folder_becomes_a_logged_session(shot, day):
    said = intake(day, "--shot", "A010", "--yes")
    assert said["shots"][0]["new"] == 8
    assert said["logged"] is True
    session = Session.objects.get()
    # 15:55:55 and 16:28:15 by the camera's clock, in Warsaw's winter time (UTC+1).
    assert session.started_at == datetime(2026, 3, 2, 14, 55, tzinfo=UTC)
    assert session.ended_at == datetime(2026, 3, 2, 15, 29, tzinfo=UTC)
    assert session.break_minutes == 30
    assert SessionShot.objects.get().kept == 8
    shot.refresh_from_db()
    assert shot.status == "shooting"


def test_nothing_is_logged_unless_said(shot, day):
    said = intake(day, "--shot", "A010")
    assert said["logged"] is False
    assert said["sessions"][0]["shots"] == [{"shot": "A010", "kept": 8, "discarded": 0}]
    assert not Session.objects.exists()


def test_a_grown_folder_adds_only_what_is_new(shot, day, tmp_path):
    some = tmp_path / "card"
    some.mkdir()
    for n in range(1, 5):
        shutil.copy(day / f"P000{n}.jpg", some)
    intake(some, "--shot", "a010", "--yes")
    assert Session.objects.get().break_minutes == 0
    again = intake(some, "--shot", "A010", "--yes")
    assert (again["shots"][0]["new"], again["shots"][0]["known"]) == (0, 4)
    assert again["sessions"] == []
    for n in range(5, 9):
        shutil.copy(day / f"P000{n}.jpg", some)
    grown = intake(some, "--shot", "A010", "--yes")
    assert grown["shots"][0]["new"] == 4
    session = Session.objects.get()
    assert session.break_minutes == 30
    assert session.ended_at == datetime(2026, 3, 2, 15, 29, tzinfo=UTC)
    assert SessionShot.objects.get().kept == 8


def test_folders_named_by_shot_take_the_whole_day(shot, day, tmp_path):
    other = factories.ShotFactory(production=shot.production, code="A020")
    for code, numbers in {"A010": (1, 2, 3, 4), "a020": (5, 6, 7, 8), "fluff": (1,)}.items():
        (tmp_path / "in" / code).mkdir(parents=True)
        for n in numbers:
            shutil.copy(day / f"P000{n}.jpg", tmp_path / "in" / code)
    said = intake(tmp_path / "in", "--yes", status=1)
    assert said["said"][0].startswith("fluff: no shot of FELT has that code")
    assert {row.shot: row.kept for row in SessionShot.objects.all()} == {shot: 4, other: 4}
    assert Session.objects.count() == 1


def test_a_bad_file_is_said_and_the_rest_go_in(shot, day, tmp_path):
    folder = tmp_path / "card"
    shutil.copytree(day, folder)
    (folder / "P0009.jpg").write_bytes((day / "P0001.jpg").read_bytes()[:2000])
    (folder / "P0010.jpg").write_bytes(b"")
    said = intake(folder, "--shot", "A010", "--yes", status=1)["shots"][0]
    assert said["new"] == 8
    assert said["refused"] == [
        "P0009.jpg is damaged or cut short: copy it from the card again.",
        "P0010.jpg is empty (0 bytes): copy it from the card again.",
    ]


def test_a_chosen_session_takes_them_whatever_the_clock_says(shot, day):
    session = factories.SessionFactory(production=shot.production)
    factories.SessionShotFactory(session=session, shot=shot, kept=7, discarded=3)
    said = intake(day, "--shot", "A010", "--session", session.pk, "--yes")
    assert said["sessions"][0]["session"] == session.pk
    row = SessionShot.objects.get()
    assert (row.kept, row.discarded) == (8, 3)  # three were deleted on the camera
    assert session.pictures.count() == 8


def test_a_session_that_stood_there_is_filled_not_doubled(shot, day):
    session = factories.SessionFactory(
        production=shot.production,
        started_at=datetime(2026, 3, 2, 14, tzinfo=UTC),
        ended_at=datetime(2026, 3, 2, 18, tzinfo=UTC),
        break_minutes=45,
    )
    intake(day, "--shot", "A010", "--yes")
    session.refresh_from_db()
    assert session.ended_at == datetime(2026, 3, 2, 18, tzinfo=UTC)
    assert session.break_minutes == 45
    assert SessionShot.objects.get().session == session


def test_a_running_session_runs_on(shot, day):
    session = factories.SessionFactory(
        production=shot.production, running=True, started_at=datetime(2026, 3, 2, 14, tzinfo=UTC)
    )
    add_pictures(session, shot, "kept", 2)
    intake(day, "--shot", "A010", "--yes")
    session.refresh_from_db()
    assert session.ended_at is None
    assert SessionShot.objects.get().kept == 8


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--shot", "B999"], "There is no shot “B999” in FELT."),
        (["--production", "NONE"], "There is no production “NONE”."),
        (["--shot", "A010", "--session", "99"], "There is no session 99 in FELT."),
        ([], "No folder in .* is named by a shot of FELT"),
    ],
)
def test_what_cannot_be_done_is_said(shot, day, words, sentence):
    with pytest.raises(CommandError, match=sentence) as error:
        call_command("intake", str(day), *words)
    assert error.value.returncode == 2
    assert not Picture.objects.exists()


def test_two_running_productions_must_be_told_apart(shot, day):
    factories.ProductionFactory(code="CLAY")
    with pytest.raises(CommandError, match="Say which production"):
        call_command("intake", str(day), "--shot", "A010")


def test_a_watched_folder_waits_until_a_file_stops_growing(shot, day, tmp_path):
    folder = tmp_path / "card"
    folder.mkdir()
    whole = (day / "P0001.jpg").read_bytes()
    looks = []

    def next_look(seconds):
        looks.append(Picture.objects.count())
        if len(looks) == 1:
            (folder / "P0001.jpg").write_bytes(whole[:5000])
        elif len(looks) == 2:
            (folder / "P0001.jpg").write_bytes(whole)
        elif len(looks) == 5:
            raise KeyboardInterrupt

    arrived, wrong = [], []
    row = ShotIntake(shot, folder)
    watch(
        [row],
        lambda intake, name: arrived.append(name),
        lambda intake, sentence: wrong.append(sentence),
        next_look,
    )
    assert looks == [0, 0, 0, 1, 1]
    assert arrived == ["P0001.jpg"]
    assert wrong == []
    assert row.refused == []


def test_a_file_that_goes_away_while_the_folder_is_read_is_said(shot, day):
    row = ShotIntake(shot, day)
    take_in_folder(row, [day / "P0001.jpg", day / "P0099.jpg", day / "P0002.jpg"])
    assert len(row.new) == 2
    assert row.refused == ["P0099.jpg is not a file."]


def test_a_file_that_changes_while_it_is_read_is_not_kept_as_what_was_measured(
    shot, day, tmp_path, monkeypatch
):
    keep_originals(shot.production, True)
    shot.production.refresh_from_db()
    folder = tmp_path / "card"
    shutil.copytree(day, folder)
    row = ShotIntake(shot, folder)
    # All are measured before the first is kept, as it is where the database is slow.
    monkeypatch.setattr(
        "shots.management.commands.intake.prepare_files", lambda paths: list(prepare_files(paths))
    )

    def changes(done, of):
        if done == 1:
            (folder / "P0003.jpg").write_bytes((day / "P0004.jpg").read_bytes())
            (folder / "P0005.jpg").unlink()

    take_in_folder(row, sorted(folder.iterdir()), changes)
    assert row.refused == [
        "P0003.jpg changed while it was read: take it in again.",
        "P0005.jpg could not be read: No such file or directory.",
    ]
    assert len(row.new) == 6


def test_stopped_in_the_middle_it_goes_on_where_it_was(shot, day):
    def stop(done, of):
        if done == 3:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        take_in_folder(ShotIntake(shot, day), sorted(day.iterdir()), stop)
    assert shot.pictures.count() == 3
    said = intake(day, "--shot", "A010", "--yes")["shots"][0]
    assert (said["new"], said["known"]) == (5, 3)
    assert SessionShot.objects.get().kept == 8


def test_a_full_disk_is_said_and_the_next_run_goes_on(shot, day, monkeypatch):
    def full(self, *args, **kwargs):
        raise OperationalError("database or disk is full")

    with monkeypatch.context() as disk:
        disk.setattr("shots.management.commands.intake.log_pictures", full)
        with pytest.raises(CommandError, match="database or disk is full"):
            call_command("intake", str(day), "--shot", "A010", "--yes")
    shot.pictures.update(judged_at=None)
    assert intake(day, "--shot", "A010", "--yes")["shots"][0]["known"] == 8
    assert not shot.pictures.filter(judged_at=None).exists()
    assert SessionShot.objects.get().kept == 8


def test_the_same_pictures_in_two_shots_are_said_and_count_in_both(shot, day):
    factories.ShotFactory(production=shot.production, code="A020")
    intake(day, "--shot", "A010", "--yes")
    said = intake(day, "--shot", "A020", "--yes")["shots"][0]
    assert said["new"] == 8
    assert said["said"][0] == "P0001.jpg is in FELT A010 as well."
    assert sorted(SessionShot.objects.values_list("shot__code", "kept")) == [
        ("A010", 8),
        ("A020", 8),
    ]


def test_without_json_it_is_said_in_words(shot, day, capsys):
    call_command("intake", str(day), "--shot", "A010", "--yes")
    said = capsys.readouterr().out
    assert "A010: 8 new, 0 in already, 0 could not be used." in said
    assert "New session 02.03.2026, 15:55 to 16:29, breaks 30 min:" in said
    assert said.endswith("Logged.\n")
