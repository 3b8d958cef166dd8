"""The health page: well, or which part is not, and nothing else."""

from collections import namedtuple
from datetime import timedelta

import pytest
from django.db import DatabaseError
from django.test import Client
from django.utils import timezone

from studio.models import LongWork

Usage = namedtuple("Usage", "total used free")


def health() -> tuple[int, dict]:
    answer = Client().get("/health/")
    return answer.status_code, answer.json()


@pytest.mark.django_db
def test_a_well_site_says_so_even_before_the_first_run():
    assert health() == (200, {"database": "ok", "disk": "ok", "long_work": "ok"})


@pytest.mark.django_db
def test_a_nearly_full_disk_is_said(monkeypatch):
    monkeypatch.setattr("studio.views.health.shutil.disk_usage", lambda _: Usage(10, 9, 1))
    assert health() == (503, {"database": "ok", "disk": "nearly full", "long_work": "ok"})


@pytest.mark.django_db
def test_a_database_that_is_away_is_said(monkeypatch):
    def away():
        raise DatabaseError("password=secret")

    monkeypatch.setattr("studio.views.health.connection.ensure_connection", away)
    assert health() == (503, {"database": "does not answer", "disk": "ok", "long_work": "unknown"})


@pytest.mark.django_db
@pytest.mark.parametrize(("state", "word"), [("waiting", "waiting"), ("running", "ok")])
def test_work_that_waits_while_none_runs_is_said(state, word):
    long_ago = timezone.now() - timedelta(minutes=11)
    LongWork.objects.create(title="A check", kind="x", created_at=long_ago)
    LongWork.objects.create(title="Another", kind="x", state=state)
    assert health()[1]["long_work"] == word
