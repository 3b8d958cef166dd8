"""`manage.py start` on an empty folder: it serves, prints the code, and styles the page."""

import contextlib
import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from studio import data_folder

PROJECT = Path(__file__).resolve().parent.parent.parent


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def own_environment(tmp_path: Path) -> dict[str, str]:
    """The environment of a machine that runs no tests, with a data folder of its own."""
    ours = {"DATABASE_URL", "PYTHONPATH", "DJANGO_ALLOW_ASYNC_UNSAFE"}
    kept = {key: value for key, value in os.environ.items() if key not in ours}
    return kept | {"STILLCOUNT_DATA": str(tmp_path / "data")}


def fetch(address: str, patience: float = 240) -> str:
    """The text at the address, once the server answers."""
    until = time.monotonic() + patience
    while True:
        try:
            with urllib.request.urlopen(address, timeout=10) as answer:
                return answer.read().decode()
        except urllib.error.HTTPError:
            raise
        except (urllib.error.URLError, ConnectionError):
            if time.monotonic() > until:
                raise
            time.sleep(0.3)


@pytest.fixture
def served(tmp_path):
    """(address, output file, process) of a studio started on an empty data folder."""
    port = free_port()
    environment = own_environment(tmp_path) | {"PYTHONUNBUFFERED": "1"}
    with (tmp_path / "output").open("w") as output:
        server = subprocess.Popen(
            [sys.executable, PROJECT / "manage.py", "start", "--port", str(port)],
            cwd=tmp_path,
            env=environment,
            stdout=output,
            stderr=subprocess.STDOUT,
        )
        yield f"http://127.0.0.1:{port}", tmp_path / "output", server
        server.terminate()
        server.wait(timeout=60)


def test_a_new_studio_is_served_with_its_style_and_its_code(served):
    address, output, _ = served
    page = fetch(f"{address}/")
    assert "Open your studio" in page
    styles = re.findall(r'href="(/static/[^"]+\.css)"', page)
    assert styles
    assert "--paper" in fetch(address + styles[0])
    for script in re.findall(r'src="(/static/[^"]+\.js)"', page):
        assert fetch(address + script)
    code = re.search(r"One-time code for the first page: ([A-Z2-9]{12})", output.read_text())
    assert code is not None
    key = output.parent / "data" / "secret.key"
    assert key.stat().st_mode & 0o777 == 0o600


def processes_of(folder: Path) -> dict[int, str]:
    """The processes that work in this data folder, by number, with their command lines."""
    found = {}
    for process in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError):
            if f"STILLCOUNT_DATA={folder}".encode() in (process / "environ").read_bytes():
                words = (process / "cmdline").read_bytes().replace(b"\0", b" ").decode()
                found[int(process.name)] = words
    return found


def the_one_that_works(folder: Path, but: int = 0) -> int | None:
    """The process for long work, if there is another than `but`."""
    working = (pid for pid, words in processes_of(folder).items() if "manage.py work" in words)
    return next((pid for pid in working if pid != but), None)


@pytest.mark.parametrize("ending", [signal.SIGTERM, signal.SIGKILL])
def test_long_work_is_done_beside_the_server_whatever_ends_it_and_ends_with_it(served, ending):
    address, output, server = served
    fetch(f"{address}/")
    folder, until = output.parent / "data", time.monotonic() + 240
    while not (worker := the_one_that_works(folder)):
        assert time.monotonic() < until, output.read_text()
        time.sleep(0.2)
    if ending == signal.SIGTERM:
        os.kill(worker, signal.SIGKILL)
        while not the_one_that_works(folder, but=worker):
            assert time.monotonic() < until, output.read_text()
            time.sleep(0.2)
    server.send_signal(ending)
    while processes_of(folder):
        assert time.monotonic() < until, processes_of(folder)
        server.poll()
        time.sleep(0.2)


def test_behind_https_the_deployment_check_finds_nothing(tmp_path):
    data_folder.prepare(tmp_path / "data")
    environment = own_environment(tmp_path) | {
        "STILLCOUNT_HTTPS": "yes",
        "STILLCOUNT_HOSTS": "studio.example",
    }
    run = subprocess.run(
        [sys.executable, PROJECT / "manage.py", "check", "--deploy", "--fail-level", "WARNING"],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr


@pytest.mark.parametrize(("given", "threads"), [({}, "1"), ({"OPENBLAS_NUM_THREADS": "3"}, "3")])
def test_arithmetic_keeps_to_one_thread_unless_somebody_says_otherwise(tmp_path, given, threads):
    environment = own_environment(tmp_path)
    environment.pop("OPENBLAS_NUM_THREADS", None)
    said = "import os, studio.settings; print(os.environ['OPENBLAS_NUM_THREADS'])"
    run = subprocess.run(
        [sys.executable, "-c", said],
        cwd=PROJECT,
        env=environment | given,
        capture_output=True,
        text=True,
        check=True,
    )
    assert run.stdout.strip() == threads
