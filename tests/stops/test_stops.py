"""Killed at any moment, fifty times: what was confirmed is there, nothing twice, nothing by half.

SIGKILL gives a process no time for anything. That the disk keeps what SQLite was told is kept is
SQLite's own business (WAL with synchronous=FULL, which a system check would not survive here).
"""

import hashlib
import http.client
import io
import json
import os
import random
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable
from contextlib import closing, suppress
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from PIL import Image

pytestmark = pytest.mark.sqlite
PROJECT = Path(__file__).resolve().parent.parent.parent
SERVER_KILLS, DAYS, KILLS_A_DAY = 15, 7, 5
CSRF = "k" * 32
chance = random.Random(8)


@dataclass
class Site:
    """A data folder, the process that starts commands on it, and what was confirmed so far."""

    folder: Path
    nursery: subprocess.Popen
    cookie: str
    shot: int
    session: int
    difficulty: int
    port: int = 0
    kills: int = 0
    shots: list[str] = field(default_factory=list)
    pictures: list[str] = field(default_factory=list)
    confirmed: Counter = field(default_factory=lambda: Counter(taps=0, shots=0, pictures=0))

    def start(self, *words: str) -> int:
        self.nursery.stdin.write(json.dumps(words) + "\n")
        self.nursery.stdin.flush()
        return int(self.nursery.stdout.readline())

    def kill(self, child: int) -> bool:
        """Kill a command and all it started; False where it had ended before."""
        try:
            os.killpg(child, signal.SIGKILL)
        except ProcessLookupError:
            return False
        self.kills += 1
        _gone(child)
        return True

    def query(self, sql: str) -> list[tuple]:
        with closing(sqlite3.connect(self.folder / "stillcount.sqlite3")) as database:
            return database.execute(sql).fetchall()


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    place = tmp_path_factory.mktemp("stops")
    environment = {k: v for k, v in os.environ.items() if k != "DATABASE_URL"}
    environment |= {
        "STILLCOUNT_DATA": str(place / "data"),
        "STILLCOUNT_LOG": str(place / "log"),
        "OMP_NUM_THREADS": "1",
    }
    nursery = subprocess.Popen(
        [sys.executable, "-m", "tests.stops.nursery"],
        cwd=PROJECT, env=environment, text=True, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
    )  # fmt: skip
    yield Site(place / "data", nursery, **json.loads(nursery.stdout.readline()))
    nursery.stdin.close()
    nursery.wait(timeout=20)


def test_the_server_is_killed_while_people_work(site):
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        site.port = probe.getsockname()[1]
    for _ in range(SERVER_KILLS):
        child = site.start("start", "--only-serve", "--port", str(site.port))
        _answers(site)
        people = [
            threading.Thread(target=_work, args=(act, site)) for act in (tap, add_shot, upload)
        ]
        for person in people:
            person.start()
        _first_answer(site)
        time.sleep(chance.uniform(0, 0.15))
        site.kill(child)
        for person in people:
            person.join()
        _check_database(site)
    assert site.kills == SERVER_KILLS
    assert min(site.confirmed.values()) > 0
    _check_answers(site)


def test_intake_is_killed_while_pictures_come_in(site):
    days = [site.folder.parent / f"day {n}" for n in range(DAYS)]
    for day in days:
        day.mkdir()
        for n in range(10):
            (day / f"P{n:04}.jpg").write_bytes(_still())
        for _ in range(KILLS_A_DAY):
            _kill_in_the_middle(site, day)
            _check_database(site)
    for day in days:
        _gone(site.start(*_intake(site, day)))
    _check_database(site)
    sent = 10 * DAYS
    assert site.query(
        "SELECT count(*), count(DISTINCT sha256), count(p.session_id) FROM shots_picture p "
        "JOIN shots_shot s ON s.id = p.shot_id WHERE s.code = 'B010'"
    ) == [(sent, sent, sent)]
    assert site.query(
        "SELECT kept, discarded FROM shots_sessionshot o JOIN shots_shot s ON s.id = o.shot_id "
        "WHERE s.code = 'B010'"
    ) == [(sent, 0)]
    _check_thumbnails(site)


def _kill_in_the_middle(site: Site, day: Path) -> None:
    """Kill intake at a random moment, however quick the machine is."""
    longest = 0.5  # seconds
    while not site.kill(_after(chance.uniform(0, longest), site.start(*_intake(site, day)))):
        longest /= 2


def _after(seconds: float, child: int) -> int:
    time.sleep(seconds)
    return child


def _intake(site: Site, day: Path) -> list[str]:
    return ["intake", str(day), "--shot", "B010", "--session", str(site.session), "--yes"]


def test_fifty_stops_were_survived(site):
    assert site.kills == 50


def _work(act: Callable[[Site], None], site: Site) -> None:
    """Do one thing after the other until nobody answers any more."""
    with suppress(OSError, http.client.HTTPException):
        while True:
            act(site)


def tap(site: Site) -> None:
    """Count a picture."""
    where = f"/productions/FELT/sessions/{site.session}/count/{site.shot}/"
    if _post(site, where, "add=1&count=kept").is_done:
        site.confirmed["taps"] += 1


def add_shot(site: Site) -> None:
    """Write a shot into the list."""
    code = f"K{chance.randrange(10**9)}"
    body = (
        f"code={code}&screen_frames=48f&exposure=2&difficulty={site.difficulty}&held_frames=0"
        "&holds=0&reused_frames=0&handle_frames=0&status=to+shoot"
    )
    if _post(site, "/productions/FELT/shots/new/", body).is_done:
        site.shots.append(code)
        site.confirmed["shots"] += 1


def upload(site: Site) -> None:
    """Send a picture."""
    content = _still()
    body = (
        b'--between\r\nContent-Disposition: form-data; name="pictures"; filename="s.jpg"\r\n'
        b"Content-Type: image/jpeg\r\n\r\n" + content + b"\r\n--between--\r\n"
    )
    where = f"/productions/FELT/shots/{site.shot}/pictures/add/"
    answer = _post(site, where, body, "multipart/form-data; boundary=between")
    if answer.is_done and json.loads(answer.text)["new"] == 1:
        site.pictures.append(hashlib.sha256(content).hexdigest())
        site.confirmed["pictures"] += 1


@dataclass
class Answer:
    status: int
    leads_to: str
    text: str

    @property
    def is_done(self) -> bool:
        return self.status == 200 or (self.status == 302 and "/sign-in/" not in self.leads_to)


def _post(site: Site, where: str, body, kind="application/x-www-form-urlencoded") -> Answer:
    """The whole answer to one request. Raises OSError or HTTPException where there is none."""
    connection = http.client.HTTPConnection("127.0.0.1", site.port, timeout=20)
    with closing(connection):
        connection.request(
            "POST", where, body,
            {
                "Content-Type": kind,
                "Accept": "application/json",
                "Cookie": f"sessionid={site.cookie}; csrftoken={CSRF}",
                "X-CSRFToken": CSRF,
            },
        )  # fmt: skip
        response = connection.getresponse()
        return Answer(
            response.status, response.headers.get("Location", ""), response.read().decode()
        )


def _still() -> bytes:
    """A picture nobody has sent yet."""
    noise = Image.frombytes("L", (96, 64), chance.randbytes(96 * 64)).resize((192, 128))
    out = io.BytesIO()
    noise.save(out, "JPEG")
    return out.getvalue()


def _answers(site: Site) -> None:
    until = time.monotonic() + 60
    while True:
        try:
            with socket.create_connection(("127.0.0.1", site.port), timeout=5):
                return
        except OSError:
            assert time.monotonic() < until, (site.folder.parent / "log").read_text()[-2000:]
            time.sleep(0.02)


def _gone(child: int) -> None:
    """Wait until the whole group of processes has ended."""
    until = time.monotonic() + 60
    with suppress(ProcessLookupError):
        while time.monotonic() < until:
            os.killpg(child, 0)
            time.sleep(0.01)
        raise AssertionError(f"{child} does not end.")


def _first_answer(site: Site) -> None:
    """Wait until the new server has confirmed something, of a kind that chance names."""
    kind = chance.choice(sorted(site.confirmed))
    before, until = site.confirmed[kind], time.monotonic() + 60
    while site.confirmed[kind] == before and time.monotonic() < until:
        time.sleep(0.002)


def _check_database(site: Site) -> None:
    """The two checks SQLite has of itself."""
    assert site.query("PRAGMA integrity_check") == [("ok",)]
    assert site.query("PRAGMA foreign_key_check") == []


def _check_answers(site: Site) -> None:
    """Everything confirmed is there once; of what was cut off all is there or nothing."""
    [(kept,)] = site.query(f"SELECT kept FROM shots_sessionshot WHERE shot_id = {site.shot}")
    assert site.confirmed["taps"] <= kept <= site.confirmed["taps"] + SERVER_KILLS

    codes = Counter(code for (code,) in site.query("SELECT code FROM shots_shot"))
    assert set(site.shots) <= set(codes)
    assert set(codes.values()) == {1}
    added = "SELECT id FROM shots_historicalshot WHERE history_type = '+'"
    assert sorted(site.query(added)) == sorted(site.query("SELECT id FROM shots_shot"))

    pictures = Counter(one for (one,) in site.query("SELECT sha256 FROM shots_picture"))
    assert set(site.pictures) <= set(pictures)
    assert set(pictures.values()) <= {1}
    _check_thumbnails(site)


def _check_thumbnails(site: Site) -> None:
    for (name,) in site.query("SELECT thumbnail FROM shots_picture"):
        with Image.open(site.folder / "files" / name) as picture:
            picture.load()
