"""The house stands as it was drawn: rooms, migrations, system checks."""

import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import call_command

PROJECT = Path(__file__).resolve().parent.parent


def test_rooms_import_downwards_only():
    """The contracts of pyproject.toml hold."""
    run = subprocess.run(
        [Path(sys.executable).parent / "lint-imports", "--no-cache"],
        cwd=PROJECT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr


@pytest.mark.parametrize(
    "words", [["check", "."], ["format", "--check", "."]], ids=["check", "format"]
)
def test_code_follows_the_named_rules(words):
    run = subprocess.run(
        [Path(sys.executable).parent / "ruff", *words, "--no-cache"],
        cwd=PROJECT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr


@pytest.mark.django_db
def test_every_model_change_has_its_migration():
    call_command("makemigrations", "--check", "--dry-run")


def test_system_checks_pass():
    call_command("check", "--fail-level", "WARNING")


def test_a_comment_in_a_template_ends_on_its_line():
    """One over two lines is no comment: it prints on the page."""
    for template in (PROJECT / "templates").rglob("*.html"):
        for line in template.read_text().splitlines():
            assert line.count("{#") == line.count("#}"), f"{template.name}: {line}"


def test_the_stylesheet_closes_every_rule_it_opens():
    """One brace lost swallows all that follows into a rule for phones."""
    css = (PROJECT / "studio/static/studio/house.css").read_text()
    assert css.count("{") == css.count("}")
