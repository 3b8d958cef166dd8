"""Restoring puts everything back or nothing, and only what is whole, ours and not too new."""

import gzip
import io
import itertools
import os
import random
import signal
import sqlite3
import subprocess
import sys
import zipfile
from contextlib import suppress
from pathlib import Path

import pytest
from django.apps import apps
from django.conf import settings as django_settings
from django.core.files.base import ContentFile
from django.core.management import CommandError, call_command
from django.db import connection, connections

from clients.models import DeliveredFile
from shots.models import Picture, Preview, Shot
from shots.queries.previews import preview_page
from studio.backup import files, restoring, rows
from studio.backup.checking import opened
from studio.backup.description import known
from studio.backup.in_use import in_use, ours_alone
from studio.backup.restoring import restore, settle
from studio.backup.rows import RowsRefused, load_chunk
from studio.backup.writing import say_nothing, write_backup
from studio.errors import NotPossible
from studio.models import DayOff, Studio
from tests import factories
from tests.studio.backup.made_up import (
    NOW,
    files_in,
    fill_studio,
    made_up,
    packed,
    rows_in,
)

pytestmark = pytest.mark.django_db(transaction=True)
MANAGE = Path(django_settings.BASE_DIR) / "manage.py"
on_sqlite = connection.vendor == "sqlite"


@pytest.fixture
def backup(tmp_path) -> Path:
    """A backup of a filled studio; the studio is changed afterwards."""
    fill_studio()
    path = write_backup(tmp_path / "good.tar", NOW).path
    Studio.objects.update(name="Changed Since")
    return path


def test_everything_comes_back_as_it_was_after_an_attempt_was_killed(backup, tmp_path):
    kept = Path(django_settings.MEDIA_ROOT)
    delivered = kept / DeliveredFile.objects.first().file.name
    delivered.write_bytes(b"of another history")
    before = write_backup(tmp_path / "before.tar", NOW).path
    _killed_before_it_changes_over(backup)
    assert delivered.read_bytes() != b"of another history"
    settle(django_settings.DATA_DIR)  # as the next start does
    stands = write_backup(tmp_path / "stands.tar", NOW).path
    assert rows_in(stands) == rows_in(before)
    assert files_in(stands) == files_in(before)

    lost, later = kept / Picture.objects.first().thumbnail.name, kept / "thumbnails" / "later.jpg"
    lost.unlink()
    later.write_bytes(b"of the studio that is put aside")
    restored = restore(backup, NOW)

    again = write_backup(tmp_path / "again.tar", NOW).path
    assert rows_in(again) == rows_in(backup)
    assert files_in(again) == files_in(backup)
    assert restored.rows == sum(map(len, rows_in(backup).values()))
    assert not later.exists()
    assert Shot.objects.create(
        production=Shot.objects.first().production, code="NEW", screen_frames=24,
        difficulty=Shot.objects.first().difficulty,
    ).pk > max(row["id"] for row in rows_in(backup)["shots.shot"])  # fmt: skip

    assert restored.aside.parent == django_settings.DATA_DIR
    assert (restored.aside / "files/thumbnails/later.jpg").exists()
    if on_sqlite:
        old = sqlite3.connect(restored.aside / Path(connection.settings_dict["NAME"]).name)
        assert old.execute("SELECT name FROM studio_studio").fetchone() == ("Changed Since",)
        old.close()
    else:
        old_rows = rows_in(restored.aside / "before.tar")
        assert old_rows["studio.studio"][0]["name"] == "Changed Since"


def _killed_before_it_changes_over(path: Path) -> None:
    """Restore in a child, which gets SIGKILL when new rows and files are ready beside the old."""
    connections.close_all()
    child = os.fork()
    if not child:
        with suppress(BaseException):
            files.put_in_place = _then_killed(files.put_in_place)
            restore(path, NOW)
        os._exit(1)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status)
    assert os.WTERMSIG(status) == signal.SIGKILL


def _then_killed(function):
    def called(*args):
        function(*args)
        os.kill(os.getpid(), signal.SIGKILL)

    return called


def test_a_preview_comes_back_without_its_film_and_can_be_made_anew(studio, tmp_path):
    preview = Preview.objects.create(production=factories.ProductionFactory(), frames=48)
    preview.file.save("preview.mp4", ContentFile(b"a film"))
    backup = write_backup(tmp_path / "one.tar", NOW).path
    assert files_in(backup) == {}
    restore(backup, NOW)

    [found] = Preview.objects.all()
    page = preview_page(found.production, None)
    assert (found.frames, page.is_lost) == (48, True)


def on_a_new_sqlite(tmp_path: Path, *words) -> subprocess.CompletedProcess:
    """A command on an installation of its own, with SQLite."""
    environment = {k: v for k, v in os.environ.items() if k != "DATABASE_URL"}
    environment["STILLCOUNT_DATA"] = str(tmp_path / "other")
    return subprocess.run(
        [sys.executable, MANAGE, *words],
        env=environment, capture_output=True, text=True, check=True,
    )  # fmt: skip


def test_a_backup_goes_to_sqlite_and_back_equal_row_by_row(backup, tmp_path):
    """With DATABASE_URL naming PostgreSQL, as .ci/run has it, this crosses engines both ways."""
    there, back = tmp_path / "there.tar", tmp_path / "back.tar"
    on_a_new_sqlite(tmp_path, "restore", backup)
    on_a_new_sqlite(tmp_path, "backup", "--to", there)
    assert rows_in(there) == rows_in(backup)
    assert files_in(there) == files_in(backup)
    restore(there, NOW)
    assert rows_in(write_backup(back, NOW).path) == rows_in(there)
    assert files_in(back) == files_in(there)


DAY = {"id": 1, "first": "2026-03-02", "last": "2026-03-02", "label": "a holiday"}


def test_an_older_backup_is_brought_up_to_date(tmp_path):
    oldest = {(app, name) for app, name in known() if name.startswith("0001")}
    path = made_up(
        tmp_path / "older.tar",
        {"rows/studio.dayoff/000001.jsonl.gz": packed(DAY)},
        {"studio.dayoff": 1},
        oldest,
    )
    restore(path, NOW)
    assert DayOff.objects.get().label == "a holiday"
    call_command("migrate", check_unapplied=True, verbosity=0)  # exits where one is missing


REFUSED = {
    "newer": ({"migrations": [*known(), ("shots", "0999_holograms")]}, "newer Stillcount"),
    "newer format": ({"tag": b'{"format": "stillcount-backup", "version": 2}'}, "knows 1"),
    "another's": ({"tag": b'{"format": "elsewhere", "version": 1}'}, "no backup of Stillcount"),
    "no words": ({"tag": b"[]"}, "does not describe itself"),
    "odd file": ({"members": {"evil.txt": b"x"}}, "does not belong"),
    "odd rows": ({}, "damaged"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_is_foreign_or_newer_is_refused_in_words(tmp_path, studio, case):
    parts, words = REFUSED[case]
    if case == "odd rows":
        path = tmp_path / "x.tar"
        made_up(path, {"rows/aa/x/000001.jsonl.gz": b"x"})
        path.write_bytes(path.read_bytes().replace(b"rows/aa/x", b"rows/../x"))
    else:
        path = made_up(tmp_path / "x.tar", **{"members": {}} | parts)
    _refused(path, words)


def test_a_zip_and_a_missing_file_are_refused_in_words(tmp_path, studio):
    with zipfile.ZipFile(tmp_path / "x.zip", "w") as archive:
        archive.writestr("../../outside", b"x" * 5000)
    _refused(tmp_path / "x.zip", "no backup of Stillcount")
    _refused(tmp_path / "nowhere.tar", "No such file")


def _refused(path: Path, words: str) -> None:
    with pytest.raises(CommandError, match=words):
        call_command("restore", path)
    assert Studio.objects.get().name == "Lamplight Table"
    leftovers = {one.name for one in django_settings.DATA_DIR.iterdir()}
    assert not [one for one in leftovers if one.startswith((".restoring", "before-restore"))]


def test_a_damaged_byte_anywhere_in_a_real_backup_is_refused(backup):
    whole = backup.read_bytes()
    chance = random.Random(8)
    for place in chance.sample(range(len(whole)), 40):
        damaged = bytearray(whole)
        damaged[place] ^= 1 << chance.randrange(8)
        backup.write_bytes(damaged)
        with pytest.raises(NotPossible):
            restore(backup, NOW)
    assert Studio.objects.get().name == "Changed Since"


def test_rows_that_point_at_nothing_leave_everything_as_it_was(tmp_path, studio):
    row = {"id": 3, "text": "", "version": 1, "shot_id": 999_999}
    path = made_up(
        tmp_path / "bad.tar", {"rows/shots.beats/000001.jsonl.gz": packed(row)}, {"shots.beats": 1}
    )
    _refused(path, "Nothing was changed")


@pytest.mark.parametrize(
    ("label", "row", "said", "words"),
    [
        ("studio.dayoff", DAY, 2, "as many rows as it says"),
        ("studio.dayoff", DAY, 0, "as many rows as it says"),
        ("studio.dayoff", DAY | {"colour": "red"}, 1, "odd are: colour"),
        ("studio.dayoff", {"id": 1}, 1, "odd are: first, label, last"),
        ("studio.dayoff", DAY | {"first": "soon"}, 1, "cannot be read"),
        ("studio.hologram", DAY, 1, "nothing here knows"),
    ],
)
def test_rows_that_do_not_fit_are_refused(tmp_path, label, row, said, words):
    path = made_up(
        tmp_path / "bad.tar", {f"rows/{label}/000001.jsonl.gz": packed(row)}, {label: said}
    )
    with opened(path) as (description, members), pytest.raises(RowsRefused, match=words):
        restoring._load(apps, description, members, tmp_path / "staged", say_nothing)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"no gzip", "cannot be unpacked"),
        (gzip.compress(b"no json\n"), "cannot be read"),
        (gzip.compress(b"[1, 2]\n"), "does not fit|cannot be read"),
        (gzip.compress(b"{}\n")[:-9], "cannot be unpacked"),
    ],
    ids=["no gzip", "no json", "no object", "cut short"],
)
def test_files_that_hold_no_rows_are_refused(db, content, words):
    with pytest.raises(RowsRefused, match=words):
        load_chunk(DayOff, io.BytesIO(content))


@pytest.mark.parametrize("line_end", [b"", b"\n"], ids=["one line", "many lines"])
def test_a_file_that_unpacks_without_end_is_stopped(db, monkeypatch, line_end):
    monkeypatch.setattr(rows, "LARGEST_CHUNK", 1_000_000)
    bomb = gzip.compress((b" " * 999 + line_end) * 20_000)
    assert len(bomb) < 100_000
    with pytest.raises(RowsRefused, match=r"unpacks to more than|cannot be read"):
        load_chunk(DayOff, io.BytesIO(bomb))


def test_a_running_site_is_never_restored_under_its_feet(backup):
    with in_use(django_settings.DATA_DIR), pytest.raises(NotPossible, match="is running"):
        restore(backup, NOW)
    with (
        ours_alone(django_settings.DATA_DIR),
        pytest.raises(CommandError, match="being restored"),
        in_use(django_settings.DATA_DIR),
    ):
        pass
    assert Studio.objects.get().name == "Changed Since"


def test_no_pictures_come_in_while_a_backup_is_put_back(studio, tmp_path):
    with (
        ours_alone(django_settings.DATA_DIR),
        pytest.raises(CommandError, match="being restored") as refusal,
    ):
        call_command("intake", tmp_path)
    assert refusal.value.returncode == 2


def test_another_program_at_the_database_is_noticed(backup, monkeypatch):
    monkeypatch.setattr(restoring, "PATIENCE", "100ms")
    other = connection.copy()
    with other.cursor() as cursor:
        cursor.execute("BEGIN")
        cursor.execute("SELECT name FROM studio_studio")
        with pytest.raises(NotPossible, match="Another program"):
            restore(backup, NOW)
    other.close()
    assert Studio.objects.get().name == "Changed Since"


@pytest.mark.parametrize("place", ["load_chunk", "put_in_place", "the third file"])
def test_breaking_off_leaves_the_old_data(backup, monkeypatch, place):
    def break_off(*args, **kwargs):
        raise OSError(28, "No space left on device")

    kept = Path(django_settings.MEDIA_ROOT)
    lost, *others = files.names(kept)
    (kept / lost).unlink()
    for name in others:
        (kept / name).write_bytes(b"another file of this name")
    calls, replace = itertools.count(1), files._replace
    match place:
        case "load_chunk":
            monkeypatch.setattr(rows, place, break_off)
        case "put_in_place":
            monkeypatch.setattr(files, place, break_off)
        case _:
            third = lambda *two: break_off() if next(calls) == 3 else replace(*two)  # noqa: E731
            monkeypatch.setattr(files, "_replace", third)
    before = {name: (kept / name).read_bytes() for name in files.names(kept)}
    with pytest.raises(NotPossible, match="No space left on device"):
        restore(backup, NOW)
    assert Studio.objects.get().name == "Changed Since"
    assert {name: (kept / name).read_bytes() for name in files.names(kept)} == before
    leftovers = {one.name for one in django_settings.DATA_DIR.iterdir()}
    assert not [one for one in leftovers if one.startswith((".restoring", "before-restore"))]
