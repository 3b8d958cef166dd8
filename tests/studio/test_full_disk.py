"""A full disk: said in words, and nothing is lost or left by half."""

import errno
import io
import secrets
import sqlite3
from contextlib import contextmanager

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import OperationalError, connection
from django.test import Client
from django.urls import reverse
from PIL import Image

from shots.models import CallSheetIssue
from studio.errors import no_space_left
from studio.models import DayOff
from tests import factories
from tests.conftest import signed_in


def sqlite_full() -> Exception:
    """The error SQLite itself raises: a database that may not grow."""
    database = sqlite3.connect(":memory:")
    database.execute("CREATE TABLE felt (wool BLOB)")
    database.execute("PRAGMA max_page_count = 3")
    try:
        database.execute("INSERT INTO felt VALUES (zeroblob(100000))")
    except sqlite3.OperationalError as error:
        return error
    raise AssertionError("SQLite took it.")


class PostgresFull(Exception):
    """As psycopg has it: PostgreSQL documentation, appendix A, class 53, disk_full."""

    sqlstate = "53100"


def wrapped(error: Exception) -> Exception:
    outer = OperationalError("database or disk is full")
    outer.__cause__ = error
    return outer


@pytest.mark.parametrize(
    ("error", "is_full"),
    [
        (OSError(errno.ENOSPC, "No space left on device"), True),
        (OSError(errno.EDQUOT, "Disk quota exceeded"), True),
        (OSError(errno.EFBIG, "File too large"), True),
        (wrapped(sqlite_full()), True),
        (wrapped(PostgresFull()), True),
        (OSError(errno.EACCES, "Permission denied"), False),
        (OperationalError("database is locked"), False),
        (None, False),
    ],
    ids=lambda case: type(case).__name__,
)
def test_what_comes_down_to_a_full_disk(error, is_full):
    assert no_space_left(error) == is_full


@contextmanager
def no_room_in_the_database():
    """SQLite's own limit; the database then cannot grow by a page, and has none left over."""
    with connection.cursor() as cursor:
        cursor.execute("VACUUM")  # the tests before this one left thousands of free pages
        cursor.execute("PRAGMA page_count")
        [pages] = cursor.fetchone()
        cursor.execute(f"PRAGMA max_page_count = {pages}")
        yield
        cursor.execute("PRAGMA max_page_count = 1073741823")


@pytest.fixture
def browser(owner) -> Client:
    client = signed_in(owner)
    client.raise_request_exception = False
    return client


MOST_THAT_FIT = 1000
SAVED = {"first": "2026-03-02", "last": "2026-03-02", "label": "before"}


def fill_up(browser) -> list[int]:
    """Save until nothing fits any more; the answers."""
    answers = []
    while not answers or answers[-1] == 302:
        assert len(answers) < MOST_THAT_FIT, "The database grew on and on."
        answer = browser.post(reverse("studio:calendar"), SAVED | {"label": "x" * 80})
        answers.append(answer.status_code)
    assert "no space left on the disk" in answer.content.decode()
    return answers


@pytest.mark.sqlite
@pytest.mark.django_db(transaction=True)
def test_a_page_says_that_the_disk_is_full_and_nothing_is_lost(browser):
    browser.post(reverse("studio:calendar"), SAVED)
    with no_room_in_the_database():
        answers = fill_up(browser)
    assert answers[-1] == 507
    assert DayOff.objects.count() == 1 + answers.count(302)
    assert browser.post(reverse("studio:calendar"), SAVED).status_code == 302
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA integrity_check")
        assert cursor.fetchall() == [("ok",)]


@pytest.mark.sqlite
@pytest.mark.django_db(transaction=True)
def test_a_call_sheet_that_does_not_fit_is_not_issued(browser):
    sheet = factories.CallSheetFactory(production__code="FELT")
    address = reverse("shots:call_sheet_issue", args=["FELT", sheet.pk])
    with no_room_in_the_database():
        fill_up(browser)
        assert browser.post(address).status_code == 507
    assert not CallSheetIssue.objects.exists()
    assert browser.post(address).status_code == 302
    assert CallSheetIssue.objects.get().number == 1


@pytest.mark.sqlite
@pytest.mark.django_db(transaction=True)
def test_a_session_that_does_not_fit_is_no_session_that_is_gone(browser):
    """Django would call the request a bad one (400)."""
    session = browser.session
    session["felt"] = secrets.token_hex(100_000)
    with no_room_in_the_database(), pytest.raises(OSError, match="No space left"):
        session.save()
    session.save()


def test_an_upload_that_does_not_fit_is_not_kept(browser, monkeypatch):
    def full(*args, **kwargs):
        raise OSError(errno.ENOSPC, "No space left on device")

    shot = factories.ShotFactory(production__code="FELT")
    monkeypatch.setattr("django.core.files.storage.FileSystemStorage._save", full)
    drawing = SimpleUploadedFile("drawing.png", png((40, 30)))
    address = reverse("shots:storyboard", args=["FELT", shot.pk])
    answer = browser.post(address, {"picture": drawing})
    assert answer.status_code == 507
    assert "no space left on the disk" in answer.content.decode()
    shot.refresh_from_db()
    assert not shot.storyboard


def png(size: tuple[int, int]) -> bytes:
    file = io.BytesIO()
    Image.new("RGB", size).save(file, "PNG")
    return file.getvalue()


def test_what_a_full_disk_cut_short_is_taken_away_again():
    class Filling(ContentFile):
        def chunks(self, chunk_size=None):
            yield b"half a "
            raise OSError(errno.ENOSPC, "No space left on device")

    with pytest.raises(OSError, match="No space left"):
        default_storage.save("thumbnails/ab/one.jpg", Filling(b"half a picture"))
    assert default_storage.listdir("thumbnails/ab") == ([], [])
