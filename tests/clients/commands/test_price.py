import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from clients.management.commands.price import Command

FILM = {
    "label": "Felt fox",
    "currency": "EUR",
    "rate": "24",
    "day_before": "2026-03-01",
    "pace": {"easy": 17},
    "sequences": [{"label": "Opening", "seconds": 10, "exposure": 2, "difficulty": "easy"}],
    "lines": [
        {"label": "Puppet", "kind": "builds", "basis": "fixed", "rate": 350, "tax_rate": 20},
        {"label": "Making-of", "kind": "other", "basis": "fixed", "rate": 50, "optional": True},
    ],
}


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "film.json"
    path.write_text(json.dumps(FILM))
    return path


def price(*arguments):
    out = StringIO()
    call_command(Command(), *map(str, arguments), stdout=out)
    return out.getvalue()


def test_a_film_is_priced_as_json(file):
    answer = json.loads(price(file, "--json"))
    assert (answer["net"], answer["gross"]) == ("350.00", "420.00")


def test_a_film_is_priced_for_people(file):
    answer = price(file)
    assert "Felt fox: 240 frames, 120 pictures, set-ups: 1" in answer
    assert "420.00 EUR  total" in answer
    assert "50.00 EUR  Making-of (optional, not in the total)" in answer


@pytest.mark.parametrize("content", [None, "{", '{"sequences": []}', "\udcff"])
def test_a_file_that_cannot_be_priced_ends_with_status_2_and_a_sentence(tmp_path, content):
    path = tmp_path / "film.json"
    if content is not None:
        path.write_bytes(content.encode("utf-8", "surrogateescape"))
    with pytest.raises(CommandError) as ended:
        price(path)
    assert ended.value.returncode == 2
    assert str(ended.value)
