"""Backups kept: seven days, four weeks, twelve months."""

from datetime import date, datetime, timedelta

import pytest

from studio.trade.rotation import to_keep

TODAY = date(2026, 3, 18)  # a Wednesday


def at(text: str) -> datetime:
    return datetime.fromisoformat(text)


@pytest.mark.parametrize(
    ("made", "kept"),
    [
        ([], []),
        # All of the last seven days, several of one day among them.
        (
            ["2026-03-18T09:00", "2026-03-18T18:00", "2026-03-12"],
            ["2026-03-18T09:00", "2026-03-18T18:00", "2026-03-12"],
        ),
        # Of a week before, its newest: Sunday 8 March, not Saturday.
        (["2026-03-18", "2026-03-08", "2026-03-07"], ["2026-03-18", "2026-03-08"]),
        # The fourth week back began on 23 February; of older ones the newest of the month.
        (
            ["2026-03-18", "2026-02-23", "2026-02-22", "2026-01-31", "2026-01-30"],
            ["2026-03-18", "2026-02-23", "2026-01-31"],
        ),
        # Twelve months reach back to April of last year.
        (["2026-03-18", "2025-04-01", "2025-03-31"], ["2026-03-18", "2025-04-01"]),
        # The newest stays, however old.
        (["2021-05-01", "2021-05-02"], ["2021-05-02"]),
        # A clock that was ahead: kept, and what is real stays beside it.
        (["2031-01-01", "2026-03-17"], ["2031-01-01", "2026-03-17"]),
    ],
)
def test_what_is_kept(made, kept):
    assert to_keep(map(at, made), TODAY) == set(map(at, kept))


def test_ten_years_of_daily_backups_come_to_a_handful():
    """7 days, then Sunday 8 and 1 March, then the last day of 11 months."""
    days = [at("2016-03-18") + timedelta(days=n) for n in range(3653)]
    kept = to_keep(days, TODAY)
    assert max(kept) == at("2026-03-18")
    assert min(kept) == at("2025-04-30")
    assert len(kept) == 20


def test_kept_day_by_day_the_set_is_the_same_as_kept_at_once():
    """What one evening throws away no later evening misses."""
    kept, first = set(), at("2024-01-01")
    for n in range(400):
        day = first + timedelta(days=n)
        kept = to_keep(kept | {day}, day.date())
        everything = [first + timedelta(days=m) for m in range(n + 1)]
        assert kept == to_keep(everything, day.date())
