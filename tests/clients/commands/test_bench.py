"""The bench runs and says what it measured; what it measured is nobody's to judge here."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import CommandError

from clients.management.commands.bench import ROWS, rows_named

PROJECT = Path(__file__).resolve().parents[3]


def test_a_row_is_measured_in_a_place_of_its_own(tmp_path):
    run = subprocess.run(
        [sys.executable, "manage.py", "bench", "empty", "--json"],
        cwd=PROJECT, env={**os.environ, "STILLCOUNT_DATA": str(tmp_path / "mine")},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    (row,) = json.loads(run.stdout)
    assert (row["name"], row["unit"], row["empty_pages"]) == ("an empty page", "ms", 1.0)
    assert row["value"] > 0
    assert not (tmp_path / "mine").exists()


def test_every_row_stands_after_the_page_it_is_held_against():
    assert list(rows_named([])) == list(ROWS)
    assert next(iter(rows_named(["QUOTE"]))) == "an empty page"


def test_a_row_nobody_wrote_is_refused_with_those_there_are():
    with pytest.raises(CommandError, match=r"No row has “spoon” in its name\. There are: an empty"):
        rows_named(["spoon"])
