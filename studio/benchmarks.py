"""What the figures of `manage.py bench` are measured with, and those of the house.

Each app has a `benchmarks.py` with its `ROWS`: a name to a small function that takes the `Bench`
and returns a `Figure`. What a row writes into the database is rolled back after it.
"""

import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from django.test import Client
from django.urls import reverse

from studio.models import Studio

RUNS = 9


@dataclass(frozen=True)
class Bench:
    """The demo studio in a database of the bench's own, its owner's browser, an empty folder."""

    studio: Studio
    today: date
    browser: Client
    folder: Path


@dataclass(frozen=True)
class Figure:
    """What was measured, and in words what it is meant to be."""

    value: float
    unit: str = "ms"
    aim: str = ""


Row = Callable[[Bench], Figure]


def milliseconds(act: Callable[[], object], runs: int = RUNS) -> float:
    """How long `act` takes: the median of `runs`, after one that only warms up."""
    act()
    taken = []
    for _ in range(runs):
        begun = time.perf_counter()
        act()
        taken.append(time.perf_counter() - begun)
    return statistics.median(taken) * 1000


def opening(bench: Bench, address: str) -> float:
    """Milliseconds the server takes to answer with the page at `address`."""

    def open_page():
        answer = bench.browser.get(address)
        assert answer.status_code == 200, f"{address} answered {answer.status_code}"

    return milliseconds(open_page)


def empty_page(bench: Bench) -> Figure:
    """A page with a sign-in, the studio and a short form: what any page costs at least."""
    return Figure(opening(bench, reverse("studio:person_new")))


EMPTY_PAGE = "an empty page"
ROWS: dict[str, Row] = {EMPTY_PAGE: empty_page}
