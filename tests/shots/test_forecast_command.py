"""`manage.py forecast FILE`: one history or many, without a database."""

import io
import json
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from shots.management.commands.forecast import ForecastError, run
from tests.shots.trade.test_forecast_exchange import FILE


def written(tmp_path: Path, data: object) -> Path:
    path = tmp_path / "history.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    return path


def printed(*words) -> str:
    out = io.StringIO()
    call_command("forecast", *words, stdout=out)
    return out.getvalue()


def test_one_history_is_answered_with_its_forecast(tmp_path):
    answer = json.loads(printed(written(tmp_path, FILE), "--json"))
    assert len(answer["samples"]) == 4000
    assert 0 <= answer["chance_of_deadline"] <= 1


def test_many_cases_are_each_answered_as_if_alone(tmp_path):
    alone = run(written(tmp_path, FILE))
    later = FILE | {"deadline": "2026-03-03"}
    many = run(written(tmp_path, {"cases": {"owl": FILE, "fox": later}}))
    assert set(many) == {"method", "forecasts"}
    assert many["forecasts"]["owl"] == alone
    assert many["forecasts"]["fox"]["samples"] == alone["samples"]


def test_the_seed_decides_the_samples(tmp_path):
    path = written(tmp_path, FILE)
    assert run(path, seed=7) == run(path, seed=7)
    assert run(path, seed=7)["samples"] != run(path, seed=8)["samples"]


def test_without_json_the_answer_is_in_words(tmp_path):
    said = printed(written(tmp_path, FILE))
    assert said.startswith("At your pace so far, shooting most likely ends ")
    assert "Rests on 1 day of shooting, and on 1 finished production." in said
    assert "Ready by the deadline: 100%." in said


def test_a_case_that_cannot_be_read_does_not_stop_the_others(tmp_path):
    path = written(tmp_path, {"cases": {"owl": FILE, "moth": {"as_of": "soon"}}})
    out = io.StringIO()
    with pytest.raises(CommandError, match=r"moth: as_of: must be a date") as error:
        call_command("forecast", path, "--json", stdout=out)
    assert error.value.returncode == 2
    answers = json.loads(out.getvalue())["forecasts"]
    assert len(answers["owl"]["samples"]) == 4000
    assert answers["moth"]["error"].startswith("as_of: must be a date")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "is not JSON"),
        ("[]", "history: must be an object, got a list"),
        ('{"cases": []}', "cases: must be an object"),
        ('{"as_of": "2026-03-02", "fps": NaN}', "fps: must be a number above 0"),
        ('{"as_of": "2026-03-02", "shots": [{"code": "A"}]}', "shots[0].difficulty: is missing"),
    ],
)
def test_a_file_that_cannot_be_read_says_why(tmp_path, text, said):
    path = tmp_path / "history.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ForecastError) as error:
        run(path)
    assert said in str(error.value)
    with pytest.raises(CommandError) as stopped:
        printed(path)
    assert stopped.value.returncode == 2


def test_a_missing_file_or_a_negative_seed_could_not_be_done(tmp_path):
    for words in ([tmp_path / "none.json"], [written(tmp_path, FILE), "--seed", "-1"]):
        with pytest.raises(CommandError) as stopped:
            printed(*words)
        assert stopped.value.returncode == 2
