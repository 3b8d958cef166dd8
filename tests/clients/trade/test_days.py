from datetime import date

import pytest

from clients.trade.quoting.days import Studio, forecasts_of, sessions_by, unshot_history
from shots.trade.forecast.history import FIVE_DAYS

STUDIO = Studio({"easy": 20, "hard": 6}, date(2026, 3, 1), FIVE_DAYS)


@pytest.mark.parametrize("setups", [0, 1, 2, 3, 7, 40])
@pytest.mark.parametrize("hours", [{"easy": 10.0}, {"easy": 10.0, "hard": 20.0}])
def test_a_film_to_come_has_the_pictures_and_set_ups_it_was_asked_for(hours, setups):
    history = unshot_history(hours, setups, STUDIO)
    pictures = dict.fromkeys(hours, 0.0)
    for shot in history.shots:
        pictures[shot.difficulty] += shot.pictures_budgeted
    assert pictures == pytest.approx({name: hours[name] * STUDIO.pace[name] for name in hours})
    assert len({shot.setup for shot in history.shots} - {None}) == setups


def test_a_film_to_come_starts_on_the_first_working_day():
    answer = forecasts_of(STUDIO)({"easy": 1.0}, 1)
    assert answer.finish_dates[0.5] >= date(2026, 3, 2)


@pytest.mark.parametrize(
    ("less", "more"),
    [
        (({"easy": 10.0}, 2), ({"easy": 20.0}, 2)),
        (({"easy": 10.0}, 2), ({"easy": 10.0, "hard": 10.0}, 2)),
        (({"easy": 10.0}, 2), ({"easy": 10.0}, 12)),
    ],
)
def test_more_work_or_more_set_ups_take_more_sessions(less, more):
    sessions_at = sessions_by(forecasts_of(STUDIO))
    here, there = sessions_at(*less), sessions_at(*more)
    assert all(here[chance] < there[chance] for chance in (0.5, 0.8, 0.95))


def test_the_same_film_has_the_same_days():
    hours = {"easy": 10.0, "hard": 5.0}
    assert forecasts_of(STUDIO)(hours, 4) == forecasts_of(STUDIO)(hours, 4)
