"""The log: one line an answer, machine-readable when asked for, never a secret or a name."""

import json
import logging
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from shots.services.calendar_links import make_link
from tests import factories

PROJECT = Path(__file__).resolve().parent.parent.parent
SECRET = "a-secret-nobody-may-read-in-a-log"


@pytest.fixture
def lines(caplog, settings):
    """Every record as the console's filter lets it through."""
    from studio.logs import WithoutAddresses

    caplog.handler.addFilter(WithoutAddresses())
    caplog.set_level(logging.INFO, "studio.middleware")
    return caplog


def test_an_answer_is_logged_by_its_pattern(owner_client, lines):
    owner_client.get(reverse("studio:person_edit", args=[999]))
    answered = [record for record in lines.records if record.getMessage() == "answered"]
    assert [(record.method, record.page, record.status) for record in answered] == [
        ("GET", "studio/people/<int:pk>/", 404)
    ]


@pytest.mark.parametrize(
    "address", [f"/q/{SECRET}/", f"/{SECRET}", f"/calendar/{SECRET}.ics", f"/quotes/link/{SECRET}/"]
)
def test_a_secret_in_an_address_never_reaches_the_log(studio, lines, address):
    for name in ("clients:client_quote", "shots:calendar_feed"):
        Client().get(reverse(name, args=[SECRET]))
    Client().get(address)
    assert lines.records
    assert SECRET not in lines.text
    assert not any(SECRET in str(vars(record)) for record in lines.records)


def test_each_opening_of_a_private_address_is_logged_by_its_key(studio, caplog):
    caplog.set_level(logging.INFO, "studio.links")
    film = factories.ProductionFactory()
    link, secret = make_link(film, "Phone", None, timezone.now())
    for tried in (secret, "another"):
        Client().get(reverse("shots:calendar_feed", args=[tried]))
    said = [
        (one.getMessage(), one.kind, vars(one).get("link"))
        for one in caplog.records
        if one.name == "studio.links"
    ]
    assert said == [
        ("private address opened", "calendarlink", link.pk),
        ("private address tried in vain", "calendarlink", None),
    ]
    assert secret not in caplog.text


def test_the_log_is_json_when_asked_for(tmp_path):
    """Read back by Python's own json module."""
    program = (
        "import django; django.setup(); import logging; "
        "logging.getLogger('studio.middleware').info('answered', extra={'status': 200})"
    )
    environment = os.environ | {
        "DJANGO_SETTINGS_MODULE": "studio.settings",
        "STILLCOUNT_DATA": str(tmp_path),
        "STILLCOUNT_LOGS": "json",
    }
    run = subprocess.run(
        [sys.executable, "-c", program],
        cwd=PROJECT,
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    line = json.loads(run.stderr.splitlines()[-1])
    assert (line["message"], line["status"], line["levelname"]) == ("answered", 200, "INFO")
    assert line["asctime"]
