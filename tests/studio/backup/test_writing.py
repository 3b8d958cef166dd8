"""A backup holds everything that is the studio's, of one moment, and nothing else."""

import errno
import hashlib
import io
import json
import tarfile
import threading
from datetime import timedelta
from pathlib import Path

import pytest
from django.apps import apps
from django.conf import settings as django_settings
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command
from django.db import connection, models

from shots.models import Preview
from studio.backup import rows, writing
from studio.backup.bag import BagRefused
from studio.backup.checking import check_backup
from studio.backup.snapshot import snapshot
from studio.backup.writing import say_nothing, write_backup
from studio.errors import NotPossible
from studio.models import DayOff, LongWork
from tests import factories
from tests.studio.backup.made_up import NOW, files_in, fill_studio, rows_in

FOREIGN_APPS = {
    "auth", "contenttypes", "sessions", "messages", "staticfiles", "humanize", "forms",
    "django_htmx", "simple_history", "axes", "django_otp", "django_tasks", "django_tasks_database",
}  # fmt: skip


def test_every_app_is_either_backed_up_or_left_out_on_purpose():
    labels = {config.label for config in apps.get_app_configs()}
    assert rows.kept_apps() == {"studio", "shots", "clients", "otp_totp"}
    assert labels - rows.kept_apps() == FOREIGN_APPS


def test_what_is_kept_points_at_what_is_left_out_only_where_it_may_be_empty():
    kept = set(rows.kept_models())
    outside = {
        f"{model._meta.label_lower}.{field.name}": field
        for model in kept
        for field in model._meta.concrete_fields
        if field.related_model is not None and field.related_model not in kept
    }
    assert set(outside) == {"clients.filecheck.work", "shots.preview.work"}
    assert all(field.null for field in outside.values())


@pytest.mark.django_db(transaction=True)
def test_the_work_that_made_a_preview_is_forgotten_and_the_preview_kept(tmp_path, studio):
    film = factories.ProductionFactory()
    work = LongWork.objects.create(title="Preview", kind="preview")
    Preview.objects.create(production=film, work=work, frames=48)
    (row,) = rows_in(write_backup(tmp_path / "one.tar", NOW).path)["shots.preview"]
    assert (row["frames"], row["work_id"]) == (48, None)


def test_everything_kept_has_one_table_and_no_field_that_is_reckoned():
    """Then what was written comes back unchanged."""
    for model in rows.kept_models():
        assert not model._meta.parents
        for field in model._meta.concrete_fields:
            assert not field.generated


@pytest.mark.django_db(transaction=True)
def test_a_backup_holds_every_row_and_file(tmp_path):
    fill_studio()
    written = write_backup(tmp_path / "one.tar", NOW)
    held = rows_in(written.path)
    for model in rows.kept_models():
        assert len(held.get(model._meta.label_lower, [])) == model._base_manager.count()
    assert {"shots.historicalshot", "shots.session_people", "shots.wish_after"} <= set(held)
    assert held["studio.person"][0]["password"]
    assert written.files == len(files_in(written.path)) == 6  # pictures, and the demo's delivery
    assert written.path.stat().st_mode & 0o777 == 0o600
    assert not [one for one in tmp_path.iterdir() if one.name.startswith(".")]


@pytest.mark.django_db(transaction=True)
def test_what_is_left_out_is_not_inside(tmp_path, client):
    fill_studio()
    client.post("/sign-in/", {"username": "nobody", "password": "wrong"})
    written = write_backup(tmp_path / "one.tar", NOW)
    with tarfile.open(written.path) as tar:
        names = "\n".join(tar.getnames())
    for left_out in ("sessions.", "axes.", "longwork", "django_tasks", "auth.", "contenttypes."):
        assert left_out not in names


@pytest.mark.django_db(transaction=True)
def test_it_describes_itself(tmp_path, studio):
    path = write_backup(tmp_path / "one.tar", NOW).path
    with tarfile.open(path) as tar:
        described = json.load(tar.extractfile("stillcount-backup/backup.json"))
        sums = tar.extractfile("stillcount-backup/manifest-sha256.txt").read().decode()
        studio_rows = "data/rows/studio.studio/000001.jsonl.gz"
        content = tar.extractfile(f"stillcount-backup/{studio_rows}").read()
    assert (described["format"], described["version"]) == ("stillcount-backup", 1)
    assert described["made_at"] == "2026-11-25T18:30:00.123456+00:00"
    assert ["shots", "0004_pictures"] in described["migrations"]
    assert described["rows"]["studio.studio"] == 1
    assert f"{hashlib.sha256(content).hexdigest()}  {studio_rows}\n" in sums


@pytest.mark.django_db(transaction=True)
def test_what_is_written_meanwhile_is_not_inside(studio):
    """Both engines show a transaction one moment; others are not held up."""

    def somebody_else():
        DayOff.objects.create(first="2026-03-02", last="2026-03-02")
        connection.close()

    with snapshot() as alias:
        assert DayOff.objects.using(alias).count() == 0
        writer = threading.Thread(target=somebody_else)
        writer.start()
        writer.join(timeout=30)
        assert DayOff.objects.count() == 1
        assert DayOff.objects.using(alias).count() == 0


@pytest.mark.django_db(transaction=True)
def test_many_rows_go_into_several_files_and_come_out_again(studio, monkeypatch):
    monkeypatch.setattr(rows, "CHUNK", 2000)
    days = [NOW.date() + timedelta(days=n) for n in range(250)]
    DayOff.objects.bulk_create(DayOff(first=day, last=day, label="Łódź") for day in days)
    before = list(DayOff.objects.order_by("pk").values())
    packed = [chunk for chunk, _ in rows.chunks(DayOff, "default")]
    DayOff.objects.all().delete()
    assert len(packed) > 5
    assert sum(rows.load_chunk(DayOff, io.BytesIO(chunk)) for chunk in packed) == 250
    assert list(DayOff.objects.order_by("pk").values()) == before


@pytest.mark.django_db(transaction=True)
def test_a_file_given_up_since_it_was_listed_spoils_no_backup(tmp_path, studio, monkeypatch):
    kept = default_storage.save("pictures/kept.jpg", ContentFile(b"kept"))
    monkeypatch.setattr(writing, "stored_files", lambda storage: iter(["pictures/gone.jpg", kept]))
    path = write_backup(tmp_path / "one.tar", NOW).path
    assert files_in(path) == {f"data/files/{kept}": b"kept"}


@pytest.mark.django_db(transaction=True)
def test_a_full_disk_is_said_and_leaves_nothing_half_made(tmp_path, studio, monkeypatch):
    def full(*args):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(writing, "_add_files", full)
    with pytest.raises(NotPossible, match="No space left on device"):
        write_backup(tmp_path / "one.tar", NOW)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.django_db(transaction=True)
def test_a_disk_that_keeps_something_else_than_was_written_is_noticed(
    tmp_path, studio, monkeypatch
):
    def write_badly(path: Path, *args):
        path.write_bytes(b"stillcount-backup" + bytes(2000))

    monkeypatch.setattr(writing, "_write", write_badly)
    with pytest.raises(NotPossible, match="The backup was not made"):
        write_backup(tmp_path / "one.tar", NOW)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.django_db(transaction=True)
def test_a_file_that_is_there_is_never_written_over(tmp_path, studio):
    (tmp_path / "one.tar").write_text("mine")
    with pytest.raises(CommandError, match="already"):
        call_command("backup", to=str(tmp_path / "one.tar"))
    assert (tmp_path / "one.tar").read_text() == "mine"


@pytest.mark.django_db(transaction=True)
def test_the_command_says_where_and_how_much(tmp_path, studio, capsys):
    call_command("backup")
    call_command("backup", to=str(tmp_path))
    with pytest.raises(CommandError, match="put the disk in, or make the folder"):
        call_command("backup", to=f"{tmp_path}/stick/")
    said = capsys.readouterr().out
    assert str(django_settings.BACKUP_DIR / "stillcount-") in said
    assert "1 rows and 0 files" in said
    assert len(list(tmp_path.glob("stillcount-*.tar"))) == 1


@pytest.mark.django_db(transaction=True)
def test_checking_reads_to_the_end(tmp_path):
    factories.StudioFactory()
    path = write_backup(tmp_path / "one.tar", NOW).path
    assert check_backup(path, say_nothing).description.rows["studio.studio"] == 1
    path.write_bytes(path.read_bytes()[:-1])
    with pytest.raises(BagRefused):
        check_backup(path, say_nothing)


def test_a_value_without_a_form_is_an_error_not_a_guess():
    with pytest.raises(TypeError, match="no form in a backup"):
        rows._plain(object())


def test_every_kind_of_field_that_is_used_reads_its_own_text_back():
    """A new kind of field must be looked at before it is trusted to a backup."""
    kinds = {type(field) for model in rows.kept_models() for field in model._meta.concrete_fields}
    assert kinds <= {
        models.AutoField, models.BigAutoField, models.BigIntegerField, models.BinaryField,
        models.BooleanField, models.CharField, models.DateField, models.DateTimeField,
        models.DecimalField, models.EmailField, models.FileField, models.FloatField,
        models.ForeignKey, models.ImageField, models.IntegerField, models.JSONField,
        models.OneToOneField, models.PositiveBigIntegerField, models.PositiveIntegerField,
        models.PositiveSmallIntegerField, models.SmallIntegerField, models.TextField,
        models.TimeField,
    }  # fmt: skip
