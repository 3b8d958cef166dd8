"""``manage.py verify``: what it prints and how it ends."""

import hashlib
import json
from dataclasses import replace

import pytest
from django.core.management import CommandError, call_command

from tests.films import Film, held, make


@pytest.fixture(scope="module")
def film(tmp_path_factory):
    return make(replace(Film(), pictures=held(12, 2)), tmp_path_factory.mktemp("verify"))


@pytest.fixture
def spec(tmp_path):
    def write(content) -> str:
        path = tmp_path / "spec.json"
        path.write_text(content if isinstance(content, str) else json.dumps(content))
        return str(path)

    return write


def test_a_file_that_fits_ends_with_0_and_prints_the_report(film, spec, capsys):
    call_command("verify", str(film), spec=spec({"width": 128, "frame_rate": "24"}), json=True)
    assert json.loads(capsys.readouterr().out) == {
        "file": str(film),
        "sha256": hashlib.sha256(film.read_bytes()).hexdigest(),
        "fits": True,
        "checks": [
            {"check": "width", "wanted": 128, "found": 128, "fits": True, "advice": ""},
            {"check": "frame_rate", "wanted": "24", "found": "24", "fits": True, "advice": ""},
        ],
    }


def test_a_file_that_does_not_fit_ends_with_1(film, spec, capsys):
    with pytest.raises(SystemExit) as end:
        call_command("verify", str(film), spec=spec({"width": 1920}), json=True)
    assert end.value.code == 1
    report = json.loads(capsys.readouterr().out)
    assert report["fits"] is False
    assert report["checks"][0]["found"] == 128


def test_without_json_it_is_said_in_words(film, spec, capsys):
    with pytest.raises(SystemExit):
        call_command("verify", str(film), spec=spec({"width": 1920}))
    assert "width: DOES NOT FIT; wanted 1920, found 128" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("content", "word"),
    [
        ({"widht": 1920}, "no item 'widht'"),
        ({"width": 0}, "width must be"),
        ("{", "not JSON"),
        ("[]", "object in braces"),
        ("[" * 100_000, "not JSON"),
    ],
)
def test_a_bad_specification_ends_with_2_and_a_sentence(film, spec, content, word, capsys):
    with pytest.raises(CommandError, match=word) as end:
        call_command("verify", str(film), spec=spec(content), json=True)
    assert end.value.returncode == 2
    assert word in json.loads(capsys.readouterr().out)["error"]


def test_a_missing_file_ends_with_2(spec, tmp_path):
    with pytest.raises(CommandError, match="no such file") as end:
        call_command("verify", str(tmp_path / "none.mp4"), spec=spec({"width": 128}))
    assert end.value.returncode == 2


def test_captions_elsewhere_can_be_named(film, spec, tmp_path, capsys):
    captions = tmp_path / "other.vtt"
    captions.write_text("WEBVTT\n\n00:00.000 --> 00:00.400\nPaper rain.\n")
    call_command(
        "verify", str(film), spec=spec({"captions": "vtt"}), captions=str(captions), json=True
    )
    assert json.loads(capsys.readouterr().out)["checks"][0]["found"] == "webvtt, 1 caption"
