"""The rotating set, and the page that shows it."""

import os
import time
from datetime import date, timedelta
from pathlib import Path

import pytest
from django.conf import settings as django_settings
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from studio import long_work
from studio.backup import asked, kept, reminder
from studio.errors import NotPossible
from studio.models import LongWork

pytestmark = pytest.mark.django_db(transaction=True)
TODAY = date(2026, 3, 18)


@pytest.fixture
def folder() -> Path:
    django_settings.BACKUP_DIR.mkdir()
    return django_settings.BACKUP_DIR


def names() -> list[str]:
    return [one.name for one in kept.kept_backups()]


def test_the_daily_backup_is_made_once_a_day(studio):
    assert kept.daily_backup(TODAY).rows == 1
    assert kept.daily_backup(TODAY) is None
    assert names() == ["stillcount-2026-03-18.tar"]


def test_a_new_backup_lets_go_of_what_is_no_longer_kept(studio, folder):
    for day in ("2026-03-17", "2026-03-08", "2026-03-07-120000", "2024-01-01"):
        (folder / f"stillcount-{day}.tar").write_bytes(b"old")
    (folder / "holiday.tar").write_bytes(b"mine")
    kept.daily_backup(TODAY)
    assert names() == [
        "stillcount-2026-03-18.tar", "stillcount-2026-03-17.tar", "stillcount-2026-03-08.tar",
    ]  # fmt: skip
    assert (folder / "holiday.tar").exists()


def test_a_failed_backup_costs_no_older_one(studio, folder, monkeypatch):
    (folder / "stillcount-2024-01-01.tar").write_bytes(b"old")
    (folder / "stillcount-2024-01-02.tar").write_bytes(b"old")

    def fail(*args):
        raise NotPossible("The disk is gone.")

    monkeypatch.setattr(kept, "write_backup", fail)
    with pytest.raises(NotPossible):
        kept.daily_backup(TODAY)
    assert len(names()) == 2


def test_a_backup_never_fills_the_disk(studio, folder, monkeypatch):
    (folder / "stillcount-2026-03-17.tar").write_bytes(bytes(1000))
    monkeypatch.setattr(kept, "ROOM_TO_LEAVE", 10**18)
    with pytest.raises(NotPossible, match="no room for a backup"):
        kept.daily_backup(TODAY)
    assert names() == ["stillcount-2026-03-17.tar"]


def test_what_a_power_cut_left_half_made_is_swept_up_a_day_later(studio, folder):
    old, new = folder / ".stillcount-a.tar.1", folder / ".stillcount-b.tar.2"
    for path in (old, new):
        path.write_bytes(b"half")
    two_days_ago = time.time() - 2 * 86400
    os.utime(old, (two_days_ago, two_days_ago))
    kept.daily_backup(TODAY)
    assert [path.name for path in folder.iterdir() if path.name.startswith(".")] == [new.name]


def test_the_duty_queues_one_backup_a_day(studio):
    asked.backup_is_due(TODAY)
    asked.backup_is_due(TODAY)
    work = LongWork.objects.get()
    long_work.carry_out.call(work.pk)
    work.refresh_from_db()
    assert work.state == LongWork.State.DONE
    assert "read back and found whole" in work.note
    asked.backup_is_due(TODAY)
    assert LongWork.objects.count() == 1
    assert asked.backup_is_due in long_work._duties


def test_the_owner_makes_checks_and_takes_away(owner_client):
    owner_client.post(reverse("studio:backup_make"))
    page = owner_client.get(reverse("studio:backups")).content.decode()
    assert "No backup yet" in page
    assert "Waiting for its turn" in page

    long_work.carry_out.call(LongWork.objects.get().pk)
    [name] = names()
    page = owner_client.get(reverse("studio:backups")).content.decode()
    assert name in page
    assert "when it was made" in page

    owner_client.post(reverse("studio:backup_check", args=[name]))
    long_work.carry_out.call(LongWork.objects.first().pk)
    page = owner_client.get(reverse("studio:backups")).content.decode()
    assert ": whole" in page

    answer = owner_client.get(reverse("studio:backup_download", args=[name]))
    assert b"".join(answer.streaming_content) == (django_settings.BACKUP_DIR / name).read_bytes()
    assert answer["Content-Disposition"] == f'attachment; filename="{name}"'
    assert answer["X-Content-Type-Options"] == "nosniff"


def test_a_download_that_broke_off_goes_on_where_it_was(owner_client, studio):
    """RFC 9110 14.2 (Range), 13.1.5 (If-Range), 15.3.7 (206), 15.5.17 (416)."""
    kept.daily_backup(TODAY)
    whole = kept.daily_path(TODAY).read_bytes()
    address = reverse("studio:backup_download", args=[kept.daily_path(TODAY).name])
    broken_off = owner_client.get(address)
    b"".join(broken_off.streaming_content)

    on = {"Range": "bytes=1000-", "If-Range": broken_off["ETag"]}
    rest = owner_client.get(address, headers=on)
    assert b"".join(rest.streaming_content) == whole[1000:]
    assert (rest.status_code, rest["Accept-Ranges"]) == (206, "bytes")
    assert rest["Content-Range"] == f"bytes 1000-{len(whole) - 1}/{len(whole)}"
    assert rest["Content-Disposition"].startswith("attachment;")
    assert rest["X-Content-Type-Options"] == "nosniff"
    beyond = owner_client.get(address, headers={"Range": f"bytes={len(whole)}-"})
    assert (beyond.status_code, beyond["Content-Range"]) == (416, f"bytes */{len(whole)}")

    kept.daily_path(TODAY).unlink()
    kept.daily_backup(TODAY)  # another of the same name, made at another moment
    other = owner_client.get(address, headers=on)
    assert other.status_code == 200
    assert b"".join(other.streaming_content) == kept.daily_path(TODAY).read_bytes()


def test_a_backup_that_went_bad_is_said_on_the_page(owner_client, studio):
    kept.daily_backup(TODAY)
    path = kept.daily_path(TODAY)
    path.write_bytes(path.read_bytes()[:-100])
    owner_client.post(reverse("studio:backup_check", args=[path.name]))
    long_work.carry_out.call(LongWork.objects.get().pk)
    page = owner_client.get(reverse("studio:backups")).content.decode()
    assert "cannot be relied on" in page


@pytest.mark.parametrize("name", ["..", "stillcount-2026-03-18.tar", "..%2Fsecret.key", "in-use"])
def test_only_kept_backups_are_handed_out(owner_client, folder, name):
    (django_settings.DATA_DIR / "secret.key").write_text("secret")
    for address in ("backup_download", "backup_check"):
        url = reverse("studio:backup_download", args=["NAME"]).replace("NAME", name)
        url += "check/" if address == "backup_check" else ""
        send = owner_client.post if address == "backup_check" else owner_client.get
        assert send(url).status_code in {404, 405}


def test_the_page_asks_the_database_no_more_with_many_backups(owner_client, folder):

    counts = []
    for many in (1, 20):
        for n in range(many):
            (folder / f"stillcount-2026-03-{n + 1:02}.tar").write_bytes(b"x")
        with CaptureQueriesContext(connection) as asked_for:
            owner_client.get(reverse("studio:backups"))
        counts.append(len(asked_for))
    assert counts[0] == counts[1]


def test_today_says_when_backups_have_stopped(owner_client, crew_client, studio, folder):
    """None for three days is said, to the owner only; a studio of yesterday is left in peace."""
    today = studio.today(timezone.now())
    says = "The newest backup is 3 days old"

    def shown(client) -> str:
        return client.get(reverse("studio:today")).content.decode()

    assert "backup yet" not in shown(owner_client)
    (folder / f"stillcount-{today - timedelta(days=3):%Y-%m-%d}.tar").write_bytes(b"old")
    assert says in shown(owner_client)
    assert says not in shown(crew_client)
    (folder / f"stillcount-{today - timedelta(days=2):%Y-%m-%d}.tar").write_bytes(b"newer")
    assert "newest backup" not in shown(owner_client)


def test_today_says_when_there_never_was_a_backup(owner_client, studio, monkeypatch):
    monkeypatch.setattr(reminder, "STOPPED_AFTER", timedelta(0))
    assert "There is no backup yet" in owner_client.get(reverse("studio:today")).content.decode()
