"""The forecast measured on a small set of simulated productions, and the scores themselves."""

import math
from itertools import pairwise
from statistics import NormalDist

import numpy as np
import pytest
import scoringrules

from tests.simulator.floor import REGIMES, STAGES, cases
from tests.simulator.measure import as_text, deadline_bands, needed_pace, row, scores
from tests.simulator.rivals import planner, remaining_over_mean
from tests.simulator.scores import crps, interval_score, pinball

PRODUCTIONS = 108  # six of each regime


@pytest.fixture(scope="module")
def measured():
    return scores(PRODUCTIONS, seed=11, draws=400)


def within_luck(share: float, low: float, high: float, trials: int) -> bool:
    """Whether a share of `trials` could be that of a truth from `low` to `high`.

    Normal bounds of the binomial that one table in a thousand crosses by luck.
    """
    room = 3.3 * math.sqrt(0.8 * 0.2 / trials)
    return low - room <= share <= high + room


@pytest.mark.parametrize("stage", STAGES)
def test_the_promise_holds_as_often_as_it_says_at_each_stage(measured, stage):
    at_stage = [one for one in measured if one.case.stage == stage]
    figures = row(at_stage)
    assert len(at_stage) > 0.8 * PRODUCTIONS
    assert within_luck(figures["by P80"], 0.75, 0.85, len(at_stage))
    assert within_luck(figures["central 80 %"], 0.72, 0.88, len(at_stage))
    assert figures["CRPS/mean"] < 0.75
    assert figures["CRPS/planner"] < 1.1
    assert abs(figures["median bias"]) < 0.25


def test_over_all_it_beats_the_mean_and_the_planner(measured):
    figures = row(measured)
    # Evenings of one production go together: it counts as one trial.
    assert within_luck(figures["by P80"], 0.75, 0.85, PRODUCTIONS)
    assert figures["CRPS/mean"] < 0.45
    assert figures["CRPS/planner"] < 0.95
    assert figures["P80/planner"] < 1.0
    assert figures["80 %/planner"] < 1.0


def test_the_odds_of_the_deadline_happen_as_said(measured):
    bands = deadline_bands(measured)
    for before, after in pairwise(bands):
        assert before["happened"] < after["happened"]
    for band in bands:
        # About eight evenings of a production tell the same story.
        trials = max(band["forecasts"] / 4, 1)
        room = 0.05 + 3.3 * math.sqrt(max(band["said"] * (1 - band["said"]), 0.02) / trials)
        assert abs(band["said"] - band["happened"]) <= room, band


def test_shot_on_at_the_needed_pace_four_in_five_are_ready(measured):
    found = needed_pace([one for one in measured if one.case.stage in ("0", "5", "50 %")])
    assert found["forecasts"] > 200
    assert within_luck(found["happened"], 0.77, 0.83, PRODUCTIONS)


def test_a_simulated_production_is_the_same_for_the_same_seed():
    first, again = cases(REGIMES[0], 4), cases(REGIMES[0], 4)
    assert [(c.stage, c.days_left, c.history) for c in first] == [
        (c.stage, c.days_left, c.history) for c in again
    ]
    assert [case.stage for case in first] == list(STAGES)


def test_shooting_on_at_the_same_pace_ends_on_the_same_day():
    for case in cases(REGIMES[0], 4):
        assert case.days_left_at(1.0) == case.days_left
        assert case.days_left_at(3.0) <= case.days_left


def test_the_rivals_are_what_they_are_called():
    before, *_, later = cases(REGIMES[0], 4)
    history = before.history
    quoted = sum(
        s.pictures_budgeted / history.assumed_pictures_per_hour[s.difficulty] for s in history.shots
    )
    assert remaining_over_mean(history) == quoted / history.calendar.hours_per_day
    middle = np.median(planner(history))
    assert middle == pytest.approx(quoted / (0.55 * history.calendar.hours_per_day))
    assert len(planner(later.history)) == 199


def test_the_table_prints_every_stage_and_regime(measured):
    text = as_text(
        {
            "productions": PRODUCTIONS,
            "stages": {"over all": row(measured)},
            "regimes": {"standard": row(measured)},
            "deadline": deadline_bands(measured),
            "needed pace": {"forecasts": 1, "said": 0.8, "happened": 1.0},
            "milliseconds": 20.0,
        }
    )
    assert "by P80" in text
    assert "200 shots × 200 sessions × 4,000 draws: 20.0 ms" in text


# Outside checks of the scores -----------------------------------------------------------------


def test_crps_of_an_ensemble_is_the_published_one():
    # {1..5} and 3 give 0.4 in the 1/2m² form (computed; the "fair" form differs).
    assert crps(np.array([1, 2, 3, 4, 5]), 3) == pytest.approx(0.4)
    # A point forecast costs its absolute error (Gneiting and Raftery 2007, abstract: verified).
    assert crps(np.array([7.0]), 3) == 4


def test_crps_agrees_with_the_scoringrules_package():
    rng = np.random.default_rng(8)
    for _ in range(20):
        samples, happened = rng.gamma(3, 4, 50), rng.gamma(3, 4)
        theirs = scoringrules.crps_ensemble(happened, samples, estimator="nrg")
        assert crps(samples, happened) == pytest.approx(float(theirs), rel=1e-9)


@pytest.mark.parametrize(
    ("mean", "sd", "happened", "expected"),
    [
        (0, 1, 0, 0.233695),
        (0, 1, 1, 0.602441),
        (0, 1, -3, 2.436575),  # tests of the R package scoringRules (verified)
        (10, 2, 12, 1.204883),
    ],
)
def test_crps_of_many_normal_quantiles_nears_the_closed_form(mean, sd, happened, expected):
    levels = (np.arange(4000) + 0.5) / 4000
    quantiles = np.array([NormalDist(mean, sd).inv_cdf(level) for level in levels])
    assert crps(quantiles, happened) == pytest.approx(expected, abs=0.0005)
    assert float(scoringrules.crps_normal(happened, mean, sd)) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(("happened", "quantile", "expected"), [(10, 8, 1.8), (8, 10, 0.2)])
def test_pinball_of_the_paper_unconfirmed(happened, quantile, expected):
    # Gneiting and Raftery 2007, section 6 (from memory, recomputed).
    assert pinball(0.9, quantile, happened) == pytest.approx(expected)


@pytest.mark.parametrize(("happened", "expected"), [(10, 10), (17, 30), (3, 30)])
def test_interval_score_of_the_paper_unconfirmed(happened, expected):
    # The same section: [5, 15] at alpha 0.2 (from memory, recomputed).
    assert interval_score(5, 15, 0.2, happened) == pytest.approx(expected)
