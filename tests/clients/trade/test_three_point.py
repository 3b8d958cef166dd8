from decimal import Decimal as D

import pytest

from clients.trade.quoting.three_point import ThreePoint, chance_within


@pytest.mark.parametrize(
    ("guesses", "mean", "spread"),
    [
        # PERT worked examples (2, 6, 7 and 3, 5, 7: web course "PERT part 2"; 5, 8, 14: worked
        # example page; all verified)
        ((2, 6, 7), "5.5", "0.833"),
        ((3, 5, 7), "5", "0.667"),
        ((5, 8, 14), "8.5", "1.5"),
    ],
)
def test_three_guesses_have_the_published_mean_and_spread(guesses, mean, spread):
    estimate = ThreePoint(*map(D, guesses))
    assert estimate.mean == D(mean)
    assert round(estimate.spread, 3) == D(spread)


def test_a_path_of_eight_jobs_has_the_unconfirmed_textbook_chance():
    # Introduction to Operations Research, PERT chapter (from memory, recomputed): mean 44,
    # variance 9, P(<= 47) = 0.8413
    path = ["1 2 3", "2 3.5 8", "6 9 18", "1 4.5 5", "4 4 10", "3 9 9", "1 5.5 7", "5 5.5 9"]
    jobs = [ThreePoint(*map(D, job.split())) for job in path]
    assert sum(job.mean for job in jobs) == pytest.approx(D(44))
    assert chance_within(jobs, D(47)) == pytest.approx(0.8413, abs=0.00005)


def test_a_certain_job_fits_or_does_not():
    certain = [ThreePoint(D(2), D(2), D(2))]
    assert chance_within(certain, D(2)) == 1.0
    assert chance_within(certain, D(1)) == 0.0
