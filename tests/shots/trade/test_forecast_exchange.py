"""Histories from JSON and answers to JSON."""

import copy
import json
from datetime import date

import pytest

from shots.trade.forecast import HistoryError, answer_to_json, forecast, history_from_json
from shots.trade.forecast.history import Capture, Output, Session, Shot

FILE = {
    "fps": 25,
    "capture": {"exposure": 2, "handles": 4},
    "shots": [
        {
            "code": "A10",
            "difficulty": "easy",
            "setup": "S01",
            "pictures_budgeted": 40,
            "pictures_kept": 41,
            "done": True,
        },
        {
            "code": "A20",
            "difficulty": "hard",
            "setup": None,
            "pictures_budgeted": 30,
            "pictures_kept": 0,
            "done": False,
        },
    ],
    "sessions": [
        {
            "date": "2026-03-02",
            "hours": 6.5,
            "setup_hours": 1.25,
            "output": [{"shot": "A10", "kept": 41, "discarded": 2}],
        }
    ],
    "calendar": {
        "working_weekdays": [0, 1, 2, 3, 4],
        "days_off": ["2026-04-06"],
        "hours_per_day": 7.0,
    },
    "assumed_pictures_per_hour": {"easy": 20, "medium": 12, "hard": 6},
    "as_of": "2026-03-02",
    "deadline": "2026-04-30",
    "past_productions": [
        {
            "shots": [],
            "sessions": [],
            "assumed_pictures_per_hour": {"easy": 18},
            "finished": "2025-11-07",
        }
    ],
}


def test_every_field_is_read():
    history = history_from_json(FILE)
    assert (history.fps, history.capture) == (25, Capture(2, 4))
    assert history.shots == (
        Shot("A10", "easy", "S01", 40, 41, True),
        Shot("A20", "hard", None, 30, 0, False),
    )
    assert history.sessions == (Session(date(2026, 3, 2), 6.5, 1.25, (Output("A10", 41, 2),)),)
    assert history.calendar.working_weekdays == {0, 1, 2, 3, 4}
    assert history.calendar.days_off == {date(2026, 4, 6)}
    assert history.calendar.hours_per_day == 7.0
    assert history.assumed_pictures_per_hour == {"easy": 20, "medium": 12, "hard": 6}
    assert (history.as_of, history.deadline) == (date(2026, 3, 2), date(2026, 4, 30))
    (past,) = history.past_productions
    assert (past.finished, past.assumed_pictures_per_hour) == (date(2025, 11, 7), {"easy": 18})


def test_only_as_of_is_required():
    history = history_from_json({"as_of": "2026-03-02"})
    assert (history.shots, history.sessions, history.deadline) == ((), (), None)
    assert history.calendar.hours_per_day == 7.0


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        (["shots", 0, "pictures_budgeted"], float("nan"), "shots[0].pictures_budgeted: must be a"),
        (["shots", 1, "pictures_kept"], -1, "shots[1].pictures_kept: must be a number of 0 or"),
        (["shots", 0, "pictures_kept"], True, "shots[0].pictures_kept: must be a number"),
        (["shots", 0, "pictures_kept"], 10**400, "shots[0].pictures_kept: must be a number"),
        (["shots", 0, "code"], 10, "shots[0].code: must be text, got 10"),
        (["shots", 0, "code"], None, "shots[0].code: is missing"),
        (["shots", 1, "code"], "A10", "shots[1].code: 'A10' is there twice"),
        (["shots", 0, "done"], "yes", "shots[0].done: must be true or false"),
        (["shots"], {"A10": 1}, "shots: must be a list, got an object"),
        (["shots", 1], "A20", "shots[1]: must be an object, got text"),
        (["sessions", 0, "hours"], "6.5", "sessions[0].hours: must be a number of 0 or more"),
        (["sessions", 0, "hours"], float("inf"), "sessions[0].hours: must be a number of 0"),
        (["sessions", 0, "date"], "2 March", "sessions[0].date: must be a date such as"),
        (["sessions", 0, "output", 0, "kept"], -3, "sessions[0].output[0].kept: must be a"),
        (["calendar", "working_weekdays"], [0, 7], "calendar.working_weekdays[1]: must be a"),
        (["calendar", "hours_per_day"], 0, "calendar.hours_per_day: must be a number above 0"),
        (["calendar", "hours_per_day"], 25, "calendar.hours_per_day: must be at most 24"),
        (["calendar", "days_off"], ["Easter"], "calendar.days_off[0]: must be a date"),
        (["assumed_pictures_per_hour", "hard"], 0, "assumed_pictures_per_hour.hard: must be a"),
        (["as_of"], None, "as_of: is missing"),
        (["deadline"], 5, "deadline: must be a date"),
        (["past_productions", 0, "sessions"], 3, "past_productions[0].sessions: must be a list"),
        (["capture", "exposure"], 0, "capture.exposure: must be a number above 0"),
    ],
)
def test_what_is_wrong_is_named_by_its_field(path, value, said):
    data = copy.deepcopy(FILE)
    place = data
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    with pytest.raises(HistoryError) as error:
        history_from_json(data)
    assert str(error.value).startswith(said)
    assert error.value.field == said.split(": ")[0]


def test_a_file_that_is_no_object_is_refused():
    with pytest.raises(HistoryError, match=r"^history: must be an object, got a list"):
        history_from_json([FILE])


def test_the_answer_is_plain_json_in_the_agreed_form():
    data = answer_to_json(forecast(history_from_json(FILE)))
    again = json.loads(json.dumps(data, allow_nan=False))
    assert again == data
    assert len(data["samples"]) == 4000
    assert set(data) == {
        "samples",
        "chance_of_deadline",
        "finish_dates",
        "pace_needed",
        "quote_sessions",
    }
    assert set(data["finish_dates"]) == set(data["quote_sessions"]) == {"0.5", "0.8", "0.95"}
    assert date.fromisoformat(data["finish_dates"]["0.5"]) > date(2026, 3, 2)
    assert data["pace_needed"]["for"] == 0.8
    assert set(data["pace_needed"]["pictures_per_hour"]) == {"easy", "hard"}


def test_without_a_deadline_its_odds_are_null():
    data = answer_to_json(forecast(history_from_json(FILE | {"deadline": None})))
    assert (data["chance_of_deadline"], data["pace_needed"]) == (None, None)
