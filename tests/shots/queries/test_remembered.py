"""An answer is found once, and anew when anything it was found from has changed."""

from dataclasses import replace
from datetime import date

import pytest
from django.core.cache import cache

from shots.queries.remembered import remembered
from shots.trade.forecast import History
from shots.trade.forecast.history import Output, Session, Shot

asked: list[tuple] = []


def find(history: History, seed: int = 0) -> tuple[str, int]:
    """Stands for a forecast: pure, and it tells when it was asked."""
    asked.append((history, seed))
    return str(history.as_of), seed


@pytest.fixture(autouse=True)
def nothing_known():
    cache.clear()
    asked.clear()


HISTORY = History(
    shots=(Shot("A010", "easy", "S1", 24, 12),),
    sessions=(Session(date(2026, 3, 2), 6.0, 0.5, (Output("A010", 12, 1),)),),
    as_of=date(2026, 3, 2),
    deadline=date(2026, 4, 1),
)


def test_the_same_history_is_asked_once():
    first = remembered(find, HISTORY, seed=3)
    again = remembered(find, replace(HISTORY), seed=3)
    assert first == again == ("2026-03-02", 3)
    assert len(asked) == 1


@pytest.mark.parametrize(
    "changed",
    [
        {"as_of": date(2026, 3, 3)},
        {"deadline": None},
        {"shots": (Shot("A010", "easy", "S1", 24, 13),)},
        {"sessions": (Session(date(2026, 3, 2), 6.0, 0.5, (Output("A010", 12, 2),)),)},
        {"assumed_pictures_per_hour": {"easy": 21.0}},
    ],
)
def test_any_change_asks_anew(changed):
    remembered(find, HISTORY, seed=3)
    remembered(find, replace(HISTORY, **changed), seed=3)
    remembered(find, HISTORY, seed=4)
    assert len(asked) == 3
