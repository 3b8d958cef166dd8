"""``manage.py verify``: what it prints and how it ends."""

import hashlib
import json
from dataclasses import replace

import pytest
from django.core.management import CommandError, call_command

from tests import factories
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
        ('{"width": 128, "height": 96, "width": 64}', "'width' is written twice"),
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


def test_a_production_fills_in_rate_length_and_cadence(studio, film, spec, capsys):
    factories.ProductionFactory(code="FELT", contracted_frames=24)
    with pytest.raises(SystemExit) as end:
        call_command("verify", str(film), spec=spec({"width": 128}), production="felt", json=True)
    assert end.value.code == 1
    checks = {row["check"]: row for row in json.loads(capsys.readouterr().out)["checks"]}
    assert set(checks) == {"width", "frame_rate", "frame_count", "cadence"}
    assert checks["frame_rate"]["wanted"] == "24"
    assert checks["cadence"]["wanted"] == {"exposure": 2}
    assert checks["frame_count"]["wanted"] == {"frames": 24, "tolerance": 0}
    # The film has 12 frames, held for two each.
    assert [name for name, row in checks.items() if not row["fits"]] == ["frame_count"]


def test_what_the_specification_says_is_not_the_productions(studio, film, spec, capsys):
    factories.ProductionFactory(code="FELT", rate_numerator=25, contracted_frames=500)
    wanted = {"frame_rate": "24", "length": {"frames": 12, "tolerance": 0}, "cadence": 2}
    call_command("verify", str(film), spec=spec(wanted), production="FELT", json=True)
    assert json.loads(capsys.readouterr().out)["fits"] is True


def test_a_code_that_no_production_has_ends_with_2(studio, film, spec, capsys):
    with pytest.raises(CommandError, match="No production has the code NONE") as end:
        call_command("verify", str(film), spec=spec({"width": 128}), production="NONE", json=True)
    assert end.value.returncode == 2
    assert "NONE" in json.loads(capsys.readouterr().out)["error"]
