"""How pages answer as a studio grows, and under eight writers at once; for `manage.py bench`."""

import os
import re
import signal
import socket
import statistics
import subprocess
import sys
import time
import urllib.error
import urllib.parse
import urllib.request
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from http.cookiejar import CookieJar
from pathlib import Path

from django.conf import settings
from django.db import connection, transaction
from django.db.models import Sum
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from clients import demo_studio, ten_years
from clients.models import Quote
from shots.models import Production, Session, SessionShot, Shot

WRITERS = 8
VISITS = 20  # of each page


@dataclass(frozen=True)
class Visited:
    """One page: how many queries it asks, and how long it takes in milliseconds."""

    page: str
    queries: int
    median: float
    slow: float  # the 95th of a hundred


@dataclass(frozen=True)
class Written:
    """What eight writers sent for some seconds, and what came of it."""

    seconds: float
    answered: int
    failed: int
    lost: int  # taps the server confirmed and the database does not have
    median: float  # milliseconds
    slow: float


def addresses() -> dict[str, str]:
    """Every page a person opens in a day, of a film that runs and has all its sessions."""
    code = ten_years.running_code(0)
    film = Production.objects.get(code=code)
    shot, session = film.shots.first(), film.sessions.first()
    draft = Quote.objects.filter(status=Quote.Status.DRAFT, options__isnull=False).first()
    of_film = (
        "film", "shots", "setups", "sessions", "plan", "paperwork", "picture_shots", "record",
        "camera_paper",
    )  # fmt: skip
    money_of_film = ("production_money", "film_earnings", "production_deliveries")
    lists = ("clients", "quotes", "invoices", "earnings", "deliveries", "specifications")
    return (
        {"an empty page": reverse("studio:person_new"), "Today": reverse("studio:today")}
        | {"productions": reverse("shots:productions"), "calibration": reverse("shots:calibration")}
        | {f"film: {name}": reverse(f"shots:{name}", args=[code]) for name in of_film}
        | {
            "film: a shot": reverse("shots:shot", args=[code, shot.pk]),
            "film: its pictures": reverse("shots:shot_pictures", args=[code, shot.pk]),
            "film: a session": reverse("shots:session", args=[code, session.pk]),
            "film: deliverables": reverse("clients:deliverables", args=[code]),
        }
        | {f"film: {name}": reverse(f"clients:{name}", args=[code]) for name in money_of_film}
        | {name: reverse(f"clients:{name}") for name in lists}
        | {
            "a client": reverse("clients:client", args=[film.commission.client_id]),
            "a quote in the making": reverse("clients:quote", args=[draft.pk]),
            "a quote as sent": reverse("clients:quote_sent", args=[film.quote.pk]),
            "an invoice": reverse("clients:invoice", args=[film.invoices.first().pk]),
        }
        | {"long work": reverse("studio:all_work"), "people": reverse("studio:people")}
    )


def visit_pages(browser: Client) -> list[Visited]:
    """Open every page some times; the first visit warms up and is not counted."""
    return [_visit(browser, page, address) for page, address in addresses().items()]


def _visit(browser: Client, page: str, address: str) -> Visited:
    browser.get(address)
    with CaptureQueriesContext(connection) as captured:
        answer = browser.get(address)
        queries = len(captured)  # the next request empties the log
    assert answer.status_code == 200, f"{address} answered {answer.status_code}"
    taken = []
    for _ in range(VISITS):
        began = time.perf_counter()
        browser.get(address)
        taken.append((time.perf_counter() - began) * 1000)
    return Visited(page, queries, statistics.median(taken), _slow(taken))


def _slow(taken: list[float]) -> float:
    return statistics.quantiles(taken, n=20)[-1] if len(taken) > 1 else taken[0]


def write_at_once(folder: Path, seconds: float) -> Written:
    """Eight people tap pictures into sessions of their own, through a real server."""
    sessions = [_open_session(number) for number in range(WRITERS)]
    with _served(folder) as base, ThreadPoolExecutor(WRITERS) as writers:
        browsers = list(writers.map(_signed_in, [base] * WRITERS))
        until = time.monotonic() + seconds
        tapping = [
            writers.submit(_tap, browser, secret, base + _count_address(*session), until)
            for (browser, secret), session in zip(browsers, sessions, strict=True)
        ]
        told = [one.result() for one in tapping]
    taken = [one for taps, _ in told for one in taps]
    kept = SessionShot.objects.filter(session__in=[pk for _, pk, _ in sessions])
    return Written(
        seconds=seconds,
        answered=len(taken),
        failed=sum(failed for _, failed in told),
        lost=len(taken) - (kept.aggregate(kept=Sum("kept"))["kept"] or 0),
        median=statistics.median(taken),
        slow=_slow(taken),
    )


@transaction.atomic
def _open_session(number: int) -> tuple[str, int, int]:
    """A film with an open session for one writer: its code, the session and the shot to count."""
    film = Production.objects.create(code=f"TAP{number}", title="Taps", contracted_frames=240)
    shot = Shot.objects.create(
        production=film, code="010", screen_frames=240,
        difficulty=ten_years.Difficulty.objects.first(),
    )  # fmt: skip
    now = timezone.now()
    session = Session.objects.create(production=film, day=now.date(), started_at=now)
    return film.code, session.pk, shot.pk


@contextmanager
def _served(folder: Path):
    """A server of its own process on the studio in `folder`; gives its address."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    server = subprocess.Popen(
        [sys.executable, settings.BASE_DIR / "manage.py", "start", "--port", str(port)],
        env=os.environ | {"STILLCOUNT_DATA": str(folder)},
        stdout=subprocess.DEVNULL,
    )
    try:
        yield _once_it_answers(f"http://127.0.0.1:{port}")
    finally:
        server.send_signal(signal.SIGTERM)
        server.wait(timeout=60)


def _once_it_answers(base: str) -> str:
    until = time.monotonic() + 120
    while True:
        try:
            urllib.request.urlopen(f"{base}/health/", timeout=5)
        except OSError:
            if time.monotonic() > until:
                raise
            time.sleep(0.3)
        else:
            return base


def _signed_in(base: str) -> tuple[urllib.request.OpenerDirector, str]:
    """A browser the owner is signed in with, and the word its forms must carry."""
    browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))
    signing_in = {
        "username": demo_studio.OWNER_SIGN_IN,
        "password": demo_studio.OWNER_PASSWORD,
        "csrfmiddlewaretoken": _secret(browser.open(f"{base}/sign-in/")),
    }
    page = browser.open(f"{base}/sign-in/", urllib.parse.urlencode(signing_in).encode())
    return browser, _secret(page)


def _count_address(code: str, session: int, shot: int) -> str:
    return reverse("shots:session_count", args=[code, session, shot])


def _tap(browser, secret: str, address: str, until: float) -> tuple[list[float], int]:
    """One writer taps without a pause; milliseconds of each answer, and how many failed."""
    tap = urllib.parse.urlencode({"count": "kept", "add": 1, "csrfmiddlewaretoken": secret})
    request = urllib.request.Request(address, tap.encode(), {"HX-Request": "true"})
    taken, failed = [], 0
    while time.monotonic() < until:
        began = time.perf_counter()
        try:
            browser.open(request, timeout=60).read()
        except OSError:
            failed += 1
        else:
            taken.append((time.perf_counter() - began) * 1000)
    return taken, failed


def _secret(page) -> str:
    return re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page.read().decode())[1]


def as_text(tenth: list[Visited], whole: list[Visited], written: Written | None) -> str:
    """The tables, as they stand in the docs."""
    empty = whole[0].median
    lines = [
        "| page | queries | ms, median | ms, 95th | × empty page | × a tenth of the data |",
        "|---|---|---|---|---|---|",
    ]
    for small, one in zip(tenth, whole, strict=True):
        queries = f"{one.queries}" + (f" (was {small.queries})" * (one.queries != small.queries))
        lines.append(
            f"| {one.page} | {queries} | {one.median:.1f} | {one.slow:.1f} | "
            f"{one.median / empty:.1f} | {one.median / small.median:.2f} |"
        )
    if written:
        lines += [
            "",
            f"{WRITERS} writers for {written.seconds:g} s: {written.answered} pictures counted "
            f"({written.answered / written.seconds:.0f} a second), {written.failed} requests "
            f"failed, {written.lost} confirmed and lost; {written.median:.0f} ms median, "
            f"{written.slow:.0f} ms at the 95th.",
        ]
    return "\n".join(lines)
