"""What the page says of a forecast: promise, basis, warnings, band, causes and what-ifs."""

from dataclasses import replace
from datetime import date
from itertools import pairwise

import pytest

from shots.trade.forecast import Answer, History, forecast
from shots.trade.forecast.band import band_ahead, kept_so_far
from shots.trade.forecast.changes import Change, what_if, what_moves_the_date
from shots.trade.forecast.history import PaceNeeded
from shots.trade.forecast.sentences import (
    basis,
    deadline_sentence,
    odds,
    pace_sentence,
    sentence,
    warnings,
)
from shots.trade.forecast_record import Correction
from studio.trade.fan import KeptDay
from tests.shots.trade.test_forecast import film


def answer(days: int, likely: int, history: History, chance: float | None = None) -> Answer:
    return Answer(
        samples=(days,) * 7 + (likely,) * 3,
        chance_of_deadline=chance,
        finish_dates={0.5: history.day_after(days), 0.8: history.day_after(likely), 0.95: None},
        pace_needed=None,
        quote_sessions={},
    )


def test_the_promise_reads_as_agreed():
    history = replace(film(), as_of=date(2026, 4, 28))
    assert sentence(answer(12, 16, history), history) == (
        "At your pace so far, shooting most likely ends Thursday 14 May (12 working days); "
        "four times in five by Wednesday 20 May. "
        "Not included: shots added later, or a long absence."
    )


def test_the_promise_names_the_year_only_when_it_is_another():
    history = replace(film(), as_of=date(2026, 12, 30))
    said = sentence(answer(1, 3, history), history)
    assert "Thursday 31 December (1 working day)" in said
    assert "Monday 4 January 2027" in said


def test_before_the_first_session_the_promise_and_its_basis_rest_on_the_assumed_pace():
    history = film(0)
    assert sentence(forecast(history), history).startswith("At the assumed pace, shooting")
    said = basis(history)
    assert said.startswith("Rests on the assumed pace (easy 20, medium 12, hard 6 pictures")
    assert "twice too fast" in said


def test_with_sessions_the_basis_counts_days():
    assert basis(film(1)) == "Rests on 1 day of shooting."
    assert basis(film(5)) == "Rests on 5 days of shooting."


def test_without_a_date_the_promise_is_in_days():
    history = film()
    dateless = replace(answer(12, 16, history), finish_dates={0.5: None, 0.8: None, 0.95: None})
    assert "takes 12 working days; four times in five at most 16" in sentence(dateless, history)


def test_everything_done_is_said():
    done = tuple(replace(shot, done=True) for shot in film().shots)
    history = replace(film(), shots=done)
    assert sentence(forecast(history), history) == "All shots are done."
    assert warnings(history, forecast(history)) == ()
    assert band_ahead(history) == ()
    assert what_moves_the_date(history) == ()


# Warnings -------------------------------------------------------------------------------------


def kinds(history: History, said: Answer, threshold: float = 0.8) -> list[str]:
    return [warning.kind for warning in warnings(history, said, threshold)]


def test_odds_under_the_owners_threshold_say_how_many_days_short():
    history = film(deadline=date(2026, 3, 20))  # ten working days after Friday 6 March
    (odds,) = warnings(history, answer(12, 16, history, chance=0.1))
    assert (odds.kind, odds.days) == ("odds", 6)
    assert odds.sentence == (
        "The deadline holds 10 % of the time, less than the 80 % you want: 6 working days short."
    )
    assert "a deadline of Monday 30 March" in odds.remedy
    assert kinds(history, answer(12, 16, history, chance=0.1), threshold=0.05) == []


def test_a_pace_that_falls_is_said_in_days():
    history = film(10, shots=20)
    slow = tuple(
        replace(s, output=(replace(s.output[0], kept=60 if n < 5 else 20),))
        for n, s in enumerate(history.sessions)
    )
    falling = replace(history, sessions=slow)
    (pace,) = [w for w in warnings(falling, answer(20, 25, history)) if w.kind == "pace"]
    # A shot of 60 is 3, 5 or 10 hours at 20, 12 or 6 pictures an hour. The first five days did
    # 3 + 5 + 10 + 3 + 5 = 26 hours of it, the last five (10 + 3 + 5 + 10 + 3) / 3 = 10.33.
    assert "ran at 40 % of the pace before" in pace.sentence
    assert pace.days == pytest.approx(20 * (1 - 0.3974), abs=0.01)
    assert "pace" not in kinds(history, answer(20, 25, history))


def test_a_pace_is_not_said_to_fall_on_fewer_than_ten_days():
    assert "pace" not in kinds(film(9, shots=20), answer(20, 25, film()))


def test_shots_that_outgrow_their_budget_are_said():
    history = film(6)
    grown = replace(
        history,
        shots=tuple(replace(s, pictures_kept=90) if s.done else s for s in history.shots),
    )
    (growth,) = [w for w in warnings(grown, answer(5, 6, history)) if w.kind == "growth"]
    assert growth.days > 0.5
    assert "growth" not in kinds(history, answer(5, 6, history))


def test_a_setup_that_eats_time_is_named_with_its_days():
    history = film(8)
    sessions = list(history.sessions)
    sessions[3] = replace(sessions[3], setup_hours=5.5)  # first day on S1
    hungry = replace(history, sessions=tuple(sessions))
    (setup,) = [w for w in warnings(hungry, answer(4, 5, history)) if w.kind == "set-up"]
    # S0 3 h, S1 5.5 + 1 + 1 h, S2 2 h; (7.5 - 2.5) / 7 hours a day
    assert setup.sentence.startswith("Set-up S1 has taken 7.5 hours, the others 2.5 on average")
    assert setup.days == pytest.approx(5 / 7)
    assert "set-up" not in kinds(history, answer(4, 5, history))


# The fan --------------------------------------------------------------------------------------


def test_kept_so_far_adds_up_and_ends_with_what_is_kept_today():
    history = film(3)
    shots = list(history.shots)
    shots[0] = replace(shots[0], pictures_kept=20, done=False)
    assert kept_so_far(replace(history, shots=tuple(shots))) == (
        KeptDay(date(2026, 3, 2), 60),
        KeptDay(date(2026, 3, 3), 120),
        KeptDay(date(2026, 3, 4), 140),
    )


def test_the_band_opens_from_today_and_never_falls():
    history = film()
    band = band_ahead(history)
    assert band[0].day == history.as_of
    assert (band[0].low, band[0].middle, band[0].high) == (300, 300, 300)
    assert all(one.low <= one.middle <= one.high for one in band)
    for before, after in pairwise(band):
        assert before.day < after.day
        assert before.low <= after.low
        assert before.high <= after.high
    # Seven shots of 60 are left, growing by about 4 %, some taken again.
    assert 650 < band[-1].middle < 900
    assert len(band) <= 60


# What moves the date, and what if --------------------------------------------------------------


def test_causes_come_largest_first_with_their_days():
    moves = what_moves_the_date(film(0, 30))
    assert [abs(move.days) for move in moves] == sorted((abs(m.days) for m in moves), reverse=True)
    days = {move.cause: move.days for move in moves}
    assert set(days) == {
        "difficulty mix",
        "set-ups",
        "retakes",
        "lost days",
        "days without result",
        "growth",
    }
    # Ten set-ups of about 1.5 hours in days of about 6.6 hours with 8 % lost.
    assert 1.8 < days["set-ups"] < 3.3
    assert days["difficulty mix"] == 0


def test_harder_shots_left_add_days_and_easier_ones_save_them():
    shots = tuple(
        replace(s, pictures_kept=60, done=True) if s.difficulty == "easy" else s
        for s in film(0).shots
    )
    history = replace(film(4), shots=shots)
    days = {move.cause: move for move in what_moves_the_date(history)}
    assert days["difficulty mix"].days > 0.5
    assert "are harder than the film as a whole" in days["difficulty mix"].sentence


@pytest.mark.parametrize(
    "change",
    [
        Change(helper_days=2),
        Change(budgets={shot.code: 30 for shot in film().shots_left}),
        Change(cut=("A7", "A8")),
        Change(hours_per_day=9.0),
    ],
    ids=["helper", "on twos", "cut", "longer days"],
)
def test_each_relief_shortens_every_future(change):
    history = film()
    before, after = forecast(history), what_if(history, change)
    pairs = zip(sorted(before.samples), sorted(after.samples), strict=True)
    assert all(new <= old for old, new in pairs)
    assert after.days(0.5) < before.days(0.5)
    assert after.chance_of_deadline >= before.chance_of_deadline


def test_a_later_deadline_moves_the_odds_and_not_the_date():
    history = film(deadline=date(2026, 3, 16))
    before, after = forecast(history), what_if(history, Change(deadline=date(2026, 3, 20)))
    assert after.samples == before.samples
    assert after.chance_of_deadline > before.chance_of_deadline


def test_no_change_is_the_forecast():
    assert what_if(film(), Change()) == forecast(film())


@pytest.mark.parametrize(
    ("factor", "words"),
    [
        (None, "No pace helps"),
        (18.8, "19 times as high as expected: out of reach"),
        (1.22, "22 % faster"),
        (1.0, "the pace expected now"),
        (0.93, "7 % slower"),
    ],
)
def test_the_pace_needed_is_said_as_a_person_would(factor, words):
    assert words in pace_sentence(PaceNeeded(0.8, factor, {}))


# Odds and pace in words ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("chance", "in_words", "in_per_cent"),
    [
        (0.0, "less than 1 chance", "under 1 %"),
        (0.014, "1 chance", "1 %"),
        (0.41, "41 chances", "41 %"),
        (1.0, "more than 99 chances", "over 99 %"),
    ],
)
def test_odds_are_never_a_certainty(chance, in_words, in_per_cent):
    history = film()
    said = deadline_sentence(answer(12, 16, history, chance=chance), history)
    assert said == f"Ready by the deadline, Wednesday 1 April: {in_words} in 100."
    assert odds(chance) == in_per_cent


def test_a_deadline_gone_by_or_absent_has_no_odds():
    late = film(deadline=date(2026, 3, 6))
    gone = deadline_sentence(answer(12, 16, late, chance=0.0), late)
    assert gone == "The deadline, Friday 6 March, has passed."
    history = film(deadline=None)
    assert deadline_sentence(answer(12, 16, history), history) is None


# Corrected by the record -----------------------------------------------------------------------


def test_a_record_of_late_films_moves_dates_odds_pace_and_band_later():
    history = film(deadline=date(2026, 3, 20))
    late = Correction(shift=0.7, scale=1.0)
    plain, corrected = forecast(history), forecast(history, correction=late)
    # A date that holds four times in five lies at Φ(0.7 + 0.8416) = 0.938 of the samples.
    assert corrected.days(0.8) == plain.days(0.938)
    assert corrected.chance_of_deadline < plain.chance_of_deadline
    assert corrected.pace_needed.factor > plain.pace_needed.factor
    for before, after in zip(
        band_ahead(history), band_ahead(history, correction=late), strict=False
    ):
        assert after.low <= before.low
        assert after.high <= before.high


def test_a_correction_of_nothing_changes_nothing():
    history = film()
    corrected = forecast(history, correction=Correction(0.0, 1.0))
    assert corrected.percentiles == forecast(history).percentiles
