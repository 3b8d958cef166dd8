"""What must hold of every forecast, and what it makes of bad or extreme histories."""

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shots.trade.forecast import History, forecast
from shots.trade.forecast.beliefs import Average, Share, believe
from shots.trade.forecast.engine import answer_for
from shots.trade.forecast.futures import gamma_from_normal
from shots.trade.forecast.history import FIVE_DAYS, Output, PastProduction, Session, Shot, quantile
from studio.trade.calendar import WorkCalendar

PROSE = Path(__file__).parents[3] / "DEVELOPERS.md"
MONDAY = date(2026, 3, 2)
QUOTED = {"easy": 20.0, "medium": 12.0, "hard": 6.0}


def film(sessions: int = 5, shots: int = 12, **changes) -> History:
    """Felt puppets, a third of the shots of each difficulty, a shot of 60 a session."""
    kinds = list(QUOTED)
    values = {
        "shots": tuple(
            Shot(f"A{n}", kinds[n % 3], f"S{n // 3}", 60, 60 if n < sessions else 0, n < sessions)
            for n in range(shots)
        ),
        "sessions": tuple(
            Session(FIVE_DAYS.add(MONDAY, n), 6.5, 1.0, (Output(f"A{n}", 60, 3),))
            for n in range(sessions)
        ),
        "assumed_pictures_per_hour": QUOTED,
        "as_of": FIVE_DAYS.add(MONDAY, sessions - 1) if sessions else MONDAY - timedelta(days=1),
        "deadline": date(2026, 4, 1),
    }
    return History(**values | changes)


def worked_example() -> History:
    return History(
        shots=(
            Shot("A10", "medium", "S01", 48, 48, True),
            Shot("A20", "medium", "S02", 60),
            Shot("A30", "medium", "S02", 60),
        ),
        sessions=(Session(MONDAY, 7.5, 1.5, (Output("A10", 48, 2),)),),
        calendar=WorkCalendar(frozenset(range(5)), frozenset(), 6.0),
        assumed_pictures_per_hour={"medium": 12},
        as_of=MONDAY,
    )


def test_the_worked_example_of_the_prose_is_what_the_model_says():
    rows = [line.split("|") for line in PROSE.read_text(encoding="utf-8").splitlines()]
    said = {row[1].strip(): row[2].strip() for row in rows if len(row) == 5}
    history = worked_example()
    beliefs, answer = believe(history), forecast(history)
    pace = beliefs.pace
    assert said["prior speed"] == f"{pace.speeds[0]:.3f}"
    assert said["fourth η"] == f"{pace.mean.sum():.3f}"
    assert said["pace expected"] == f"{pace.expected()['medium']:.2f}"
    assert f"re-estimated at {pace.day_variance:.3f}" in PROSE.read_text(encoding="utf-8")
    assert float(said["a set-up"]) == pytest.approx(beliefs.setup.mean)
    assert float(said["hours of a day"]) == pytest.approx(beliefs.hours.mean)
    assert (int(said["P50"]), int(said["P80"])) == (answer.days(0.5), answer.days(0.8))
    # By hand: 12 exp(-0.12) = 10.6430; 48/10.6430/6 = 0.7517; 0.255/0.415 × log 0.7517 = -0.1754.
    assert (said["prior speed"], said["z of the day"], said["first η"]) == (
        "10.643",
        "0.752",
        "-0.175",
    )


# Must always hold -----------------------------------------------------------------------------


def test_the_same_history_and_seed_give_the_same_answer():
    assert forecast(film(), seed=3) == forecast(film(), seed=3)
    assert forecast(film(), seed=3).samples != forecast(film(), seed=4).samples


def test_samples_are_four_thousand_whole_days_and_quantiles_rise():
    answer = forecast(film())
    assert len(answer.samples) == 4000
    assert all(type(sample) is int and sample >= 1 for sample in answer.samples)
    assert answer.days(0.5) <= answer.days(0.8) <= answer.days(0.95)
    assert list(answer.quote_sessions.values()) == sorted(answer.quote_sessions.values())
    assert answer.finish_dates[0.5] <= answer.finish_dates[0.8] <= answer.finish_dates[0.95]


def test_all_shots_done_is_zero_days():
    done = tuple(replace(shot, pictures_kept=60, done=True) for shot in film().shots)
    answer = forecast(replace(film(), shots=done))
    assert set(answer.samples) == {0}
    assert answer.chance_of_deadline == 1.0
    assert answer.quote_sessions == {0.5: 0, 0.8: 0, 0.95: 0}
    assert answer.notes == ("All shots are done.",)


@pytest.mark.parametrize("sessions", [0, 1, 5])
@pytest.mark.parametrize(
    "shot",
    [
        Shot("new", "easy", "S3", 1),
        Shot("new", "hard", "S0", 300),
        Shot("new", "medium", None, 20),
        Shot("new", "underwater", "S99", 40),
        Shot("new", "hard", "S3", 60, 20),
    ],
    ids=["one picture", "many", "own set-up", "new difficulty", "begun"],
)
def test_adding_a_shot_never_shortens(sessions, shot):
    before = film(sessions)
    after = replace(before, shots=(*before.shots, shot))
    ours, theirs = sorted(forecast(before).samples), sorted(forecast(after).samples)
    assert all(first <= second for first, second in zip(ours, theirs, strict=True))


def test_renaming_difficulties_changes_nothing():
    names = {"easy": "zzz", "medium": "quick", "hard": "aaa"}
    past = film(12)
    known = PastProduction(
        shots=past.shots, sessions=past.sessions, assumed_pictures_per_hour=QUOTED
    )
    before = film(past_productions=(known,))

    def renamed(production):
        return replace(
            production,
            shots=tuple(replace(s, difficulty=names[s.difficulty]) for s in production.shots),
            assumed_pictures_per_hour={names[name]: pace for name, pace in sorted(QUOTED.items())},
        )

    after = replace(renamed(before), past_productions=(renamed(known),))
    assert forecast(after).samples == forecast(before).samples


def test_a_day_off_ahead_moves_dates_and_not_days():
    before = film()
    calendar = WorkCalendar(frozenset(range(5)), frozenset({date(2026, 3, 10)}), 7.0)
    after = replace(before, calendar=calendar)
    one, other = forecast(before), forecast(after)
    assert one.samples == other.samples
    for chance in (0.5, 0.8, 0.95):
        assert other.finish_dates[chance] == FIVE_DAYS.add(one.finish_dates[chance], 1)


def test_the_same_pictures_in_fewer_hours_are_a_higher_pace():
    slow = film()
    fast = replace(slow, sessions=tuple(replace(session, hours=4.5) for session in slow.sessions))
    before, after = believe(slow).pace.expected(), believe(fast).pace.expected()
    assert all(after[name] > pace for name, pace in before.items())


def test_a_retake_that_lowers_kept_and_clears_done_brings_work_back():
    before = film()
    shots = list(before.shots)
    shots[0] = replace(shots[0], pictures_kept=10, done=False)
    after = replace(before, shots=tuple(shots))
    assert forecast(after).days(0.5) > forecast(before).days(0.5)


def test_an_empty_session_is_a_session_and_no_lost_day():
    history = film()
    empty = Session(FIVE_DAYS.add(history.as_of, 1), 6.0)
    after = replace(history, sessions=(*history.sessions, empty), as_of=empty.date)
    beliefs, before = believe(after), believe(history)
    assert beliefs.empty.mean > before.empty.mean
    assert beliefs.lost.mean < before.lost.mean
    assert beliefs.pace.expected() == pytest.approx(before.pace.expected(), rel=0.05)


def test_working_days_without_a_session_are_lost_days():
    history = film()
    later = replace(history, as_of=FIVE_DAYS.add(history.as_of, 4))
    assert believe(later).lost.mean > 2 * believe(history).lost.mean


def test_before_day_one_the_quote_spreads_as_quotes_do():
    # P80 about 1.35 and P95 about 1.8 times P50 over studios with and without past productions:
    # common practice, no source. Without any past the spread is wider.
    sessions = forecast(film(0, 40)).quote_sessions
    assert 1.25 <= sessions[0.8] / sessions[0.5] <= 1.55
    assert 1.6 <= sessions[0.95] / sessions[0.5] <= 2.3


def test_at_the_needed_pace_the_deadline_holds_four_times_in_five():
    history = film(deadline=date(2026, 3, 18))
    factor = forecast(history).pace_needed.factor
    beliefs = believe(history)
    mean = beliefs.pace.mean.copy()
    mean[0] += np.log(factor)
    faster = replace(beliefs, pace=replace(beliefs.pace, mean=mean))
    assert answer_for(history, faster).chance_of_deadline == pytest.approx(0.8, abs=0.01)


# Bad and extreme histories --------------------------------------------------------------------


def test_no_shots_at_all_says_so():
    answer = forecast(History(as_of=MONDAY))
    assert set(answer.samples) == {0}
    assert answer.chance_of_deadline is None
    assert answer.notes == ("There are no shots to forecast.",)


def test_a_class_without_an_assumed_pace_takes_the_middle_of_the_others_and_says_so():
    history = film(assumed_pictures_per_hour={"easy": 20.0, "hard": 5.0}, sessions=0)
    answer = forecast(history)
    # sqrt(20 × 5) = 10, and exp(-0.12) for optimism: 8.869
    assert believe(history).pace.expected()["medium"] == pytest.approx(8.869, abs=0.001)
    assert answer.notes == ("No pace is assumed for medium: the middle of the others stands in.",)


def test_no_assumed_pace_at_all_still_forecasts():
    assert forecast(film(assumed_pictures_per_hour={})).days(0.5) > 0


def test_a_session_of_zero_hours_teaches_nothing_of_pace():
    history = film()
    nothing = Session(history.as_of, 0.0)
    assert forecast(replace(history, sessions=(*history.sessions, nothing))) == forecast(history)
    with_output = Session(history.as_of, 0.0, 0.0, (Output("A5", 5),))
    forecast(replace(history, sessions=(with_output,)))


def test_output_of_a_deleted_shot_counts_as_pace_and_not_as_a_lost_day():
    history = film()
    gone = replace(history, shots=history.shots[1:])
    beliefs = believe(gone)
    assert beliefs.lost == believe(history).lost
    assert beliefs.empty == believe(history).empty
    assert forecast(gone).days(0.5) > 0


def test_more_setup_hours_than_hours_leave_no_shooting_hours():
    history = film()
    odd = replace(history, sessions=(Session(MONDAY, 2.0, 3.0, (Output("A0", 60),)),))
    assert forecast(odd).days(0.5) > 0


def test_no_working_weekday_gives_days_and_no_dates_and_says_so():
    answer = forecast(film(calendar=WorkCalendar(frozenset(), frozenset(), 7.0)))
    assert answer.days(0.5) > 0
    assert set(answer.finish_dates.values()) == {None}
    assert answer.chance_of_deadline == 0.0
    assert answer.notes[0].startswith("The week has no working day")


@pytest.mark.parametrize("deadline", [date(2026, 3, 1), date(2026, 3, 6), date(2026, 3, 8)])
def test_a_deadline_past_today_or_on_the_weekend_before_work_leaves_no_day(deadline):
    answer = forecast(film(deadline=deadline))
    assert answer.chance_of_deadline == 0.0
    assert answer.pace_needed.factor is None
    assert "leaves no working day for the 7 shots" in answer.notes[0]


def test_a_deadline_that_setups_fill_alone_has_no_pace_that_helps():
    shots = tuple(Shot(f"B{n}", "easy", f"T{n}", 10) for n in range(20))
    answer = forecast(replace(film(0), shots=shots, deadline=MONDAY))
    assert answer.pace_needed.factor is None
    assert answer.notes == (
        "No pace meets the deadline: lost days and set-ups alone fill the time.",
    )


def test_a_hundred_thousand_pictures_are_years_and_not_a_hang():
    many = replace(film(0), shots=(Shot("A", "medium", None, 100_000),))
    # 100,000 / 12 quoted an hour / (0.55 × 7 hours a day) = 2,165 days: common practice.
    assert 1_400 < forecast(many).days(0.5) < 3_200


def test_a_thousand_million_pictures_say_check_the_budget():
    many = replace(film(0), shots=(Shot("A", "medium", None, 1_000_000_000),))
    answer = forecast(many)
    assert answer.finish_dates[0.5] is None
    assert "check the pictures budgeted" in answer.notes[0]


def test_one_difficulty_and_forty_difficulties():
    one = replace(film(0), shots=tuple(replace(s, difficulty="easy") for s in film(0).shots))
    assert forecast(one).days(0.5) > 0
    forty = tuple(Shot(f"A{n}", f"kind {n}", f"S{n}", 30) for n in range(40))
    answer = forecast(replace(film(0), shots=forty))
    assert answer.days(0.5) > 0
    assert len(answer.pace_needed.pictures_per_hour) == 40


def test_a_shot_without_pictures_that_is_not_done_asks_a_day():
    assert forecast(replace(film(0), shots=(Shot("A", "easy", None, 0),))).days(0.5) >= 1


def test_a_past_production_without_sessions_or_shots_is_passed_over():
    assert forecast(film(past_productions=(PastProduction(),))).samples == forecast(film()).samples


def test_a_quote_a_hundred_times_off_is_forgotten_after_twenty_days():
    history = film(20, shots=40, assumed_pictures_per_hour={n: 100 * p for n, p in QUOTED.items()})
    # Each shot of 60 took a day, and 20 are left.
    assert 12 <= forecast(history).days(0.5) <= 40


@settings(max_examples=40, deadline=None)
@given(
    shots=st.lists(
        st.tuples(
            st.sampled_from("abc"),
            st.integers(0, 300),
            st.integers(0, 300),
            st.booleans(),
            st.sampled_from(["S1", "S2", None]),
        ),
        max_size=8,
    ),
    sessions=st.lists(
        st.tuples(st.integers(0, 30), st.floats(0, 24), st.floats(0, 24), st.integers(0, 400)),
        max_size=8,
    ),
    weekdays=st.frozensets(st.integers(0, 6)),
    deadline=st.integers(-40, 400),
)
def test_any_history_has_an_answer_in_order(shots, sessions, weekdays, deadline):
    history = History(
        shots=tuple(Shot(f"A{n}", d, s, b, k, done) for n, (d, b, k, done, s) in enumerate(shots)),
        sessions=tuple(
            Session(MONDAY + timedelta(days=day), hours, setup, (Output(f"A{n}", kept),))
            for n, (day, hours, setup, kept) in enumerate(sessions)
        ),
        calendar=WorkCalendar(weekdays, frozenset(), 7.0),
        assumed_pictures_per_hour={"a": 12.0},
        as_of=MONDAY + timedelta(days=20),
        deadline=MONDAY + timedelta(days=deadline),
    )
    answer = forecast(history, draws=60)
    assert 0 <= answer.days(0.5) <= answer.days(0.8) <= answer.days(0.95)
    assert 0 <= answer.chance_of_deadline <= 1


# Outside checks -------------------------------------------------------------------------------


def test_averages_learn_as_gamma_and_poisson_do():
    # Bayesian Data Analysis 3e, section 2.6 (from memory): Gamma(3, 5) and 3 deaths in 2 units
    # of exposure give Gamma(6, 7), mean 0.857; 30 in 20 give Gamma(33, 25), mean 1.32.
    start = Average(mean=3 / 5, occasions=5)
    assert start.after(3, 2).mean == pytest.approx(0.857, abs=0.0005)
    assert start.after(30, 20) == Average(pytest.approx(1.32), 25)


def test_shares_learn_as_beta_and_binomial_do():
    # Uniform prior and 7 of 10: Beta(8, 4), mean 2/3 (Laplace's rule of succession).
    assert Share(1, 1).after(7, 10).mean == pytest.approx(2 / 3)
    assert Share(1, 1).after(70, 100, at_most=10) == Share(8, 4)


@pytest.mark.parametrize(
    ("shape", "rate", "low", "high"),
    [(6, 7, 0.3146, 1.6669), (33, 25, 0.9086, 1.8070)],
)
def test_gamma_values_from_normal_ones_have_the_published_interval(shape, rate, low, high):
    # 95 % intervals of the posteriors of the same section, computed with SciPy.
    ends = gamma_from_normal(shape / rate, shape / rate**2, np.array([-1.959964, 1.959964]))
    assert ends == pytest.approx([low, high], rel=0.006)


def test_poisson_counts_on_those_gammas_are_negative_binomial():
    # Predictive of Gamma(6, 7) at exposure 2: mean 1.7143, variance 2.2041,
    # P(0, 1, 2) = 0.2214, 0.2952, 0.2296 (negative binomial, computed with SciPy).
    rng = np.random.default_rng(26)
    counts = rng.poisson(2 * gamma_from_normal(6 / 7, 6 / 49, rng.standard_normal(400_000)))
    assert counts.mean() == pytest.approx(1.7143, abs=0.01)
    assert counts.var() == pytest.approx(2.2041, abs=0.03)
    shares = np.bincount(counts)[:3] / len(counts)
    assert shares == pytest.approx([0.2214, 0.2952, 0.2296], abs=0.004)
    assert (quantile(counts, 0.1), quantile(counts, 0.9)) == (0, 4)
