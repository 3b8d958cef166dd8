"""The forecast measured on simulated productions: coverage, scores, odds, needed pace, time."""

import math
import time
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from shots.trade.forecast import forecast
from shots.trade.forecast.history import FIVE_DAYS, History, Output, Session, Shot
from tests.simulator.floor import QUOTED, REGIMES, STAGES, START, Case, cases
from tests.simulator.rivals import planner, remaining_over_mean
from tests.simulator.scores import crps, interval_score, pinball


@dataclass(frozen=True)
class Score:
    """How one forecast did."""

    case: Case
    place: float  # randomised place of what happened among the samples, 0 to 1
    median: float
    chance: float  # said of the deadline
    in_time: bool
    factor: float | None  # pace said to be needed for 80 %
    score: float  # CRPS, days
    mean_score: float  # the same of remaining / mean
    planner_score: float
    pinball: float  # of P80, days
    planner_pinball: float
    interval: float  # score of the central 80 % interval, days
    planner_interval: float


def score(case: Case, seed: int, draws: int) -> Score:
    answer = forecast(case.history, seed=seed, draws=draws)
    samples = np.array(answer.samples)
    below = np.mean(samples < case.days_left)
    upto = np.mean(samples <= case.days_left)
    luck = np.random.default_rng([seed, 7]).random()
    history = case.history
    rival = planner(history)
    return Score(
        case=case,
        place=float(below + luck * (upto - below)),
        median=float(np.median(samples)),
        chance=answer.chance_of_deadline,
        in_time=case.days_left <= case.days_to_deadline,
        factor=answer.pace_needed.factor,
        score=crps(samples, case.days_left),
        mean_score=abs(remaining_over_mean(history) - case.days_left),
        planner_score=crps(rival, case.days_left),
        pinball=pinball(0.8, answer.days(0.8), case.days_left),
        planner_pinball=pinball(0.8, np.quantile(rival, 0.8), case.days_left),
        interval=interval_score(answer.days(0.1), answer.days(0.9), 0.2, case.days_left),
        planner_interval=interval_score(*np.quantile(rival, (0.1, 0.9)), 0.2, case.days_left),
    )


def scores(productions: int, seed: int = 1, draws: int = 1000) -> list[Score]:
    """Score `productions` productions, the regimes in turn."""
    return [
        score(case, seed=seed + n, draws=draws)
        for n in range(productions)
        for case in cases(REGIMES[n % len(REGIMES)], seed * 1_000_003 + n)
    ]


def row(some: list[Score]) -> dict:
    """The figures of the target table for some scores."""
    places = np.array([one.place for one in some])
    medians = np.array([one.median for one in some])
    happened = np.array([one.case.days_left for one in some], dtype=float)

    def ratio(ours: str, theirs: str) -> float:
        return sum(getattr(one, ours) for one in some) / sum(getattr(one, theirs) for one in some)

    return {
        "forecasts": len(some),
        "by P80": float(np.mean(places <= 0.8)),
        "central 80 %": float(np.mean((places > 0.1) & (places <= 0.9))),
        "CRPS/mean": ratio("score", "mean_score"),
        "CRPS/planner": ratio("score", "planner_score"),
        "P80/planner": ratio("pinball", "planner_pinball"),
        "80 %/planner": ratio("interval", "planner_interval"),
        "median bias": float(medians.sum() / happened.sum() - 1),
        "median ratio": float(np.median(medians / happened)),
    }


BANDS = (0.0, 0.1, 0.3, 0.5, 0.7, 0.9, 1.0)


def deadline_bands(some: list[Score]) -> list[dict]:
    """What was said of the deadline against what happened, in bands of the chance said."""
    table = []
    for low, high in pairwise(BANDS):
        band = [s for s in some if low <= s.chance < high or s.chance == high == 1.0]
        if band:
            table.append(
                {
                    "band": f"{low:.0%} to {high:.0%}",
                    "forecasts": len(band),
                    "said": float(np.mean([one.chance for one in band])),
                    "happened": float(np.mean([one.in_time for one in band])),
                }
            )
    return table


def needed_pace(some: list[Score]) -> dict:
    """Productions shot on at the pace said to be needed: the share ready by the deadline."""
    ready = []
    for one in some:
        if one.factor is not None:
            ready.append(one.case.days_left_at(one.factor) <= one.case.days_to_deadline)
    return {"forecasts": len(ready), "said": 0.8, "happened": float(np.mean(ready))}


def milliseconds(
    shots: int = 200, sessions: int = 200, draws: int = 4000, rounds: int = 15
) -> float:
    """Best time of one forecast of a production this large, half of it shot."""
    third = shots // 3
    history = History(
        shots=tuple(
            Shot(
                f"A{n}",
                list(QUOTED)[n % 3],
                f"S{n // 3}",
                120,
                120 * (n < shots // 2),
                n < shots // 2,
            )
            for n in range(shots)
        ),
        sessions=tuple(
            Session(FIVE_DAYS.add(START, n), 6.5, 0.5, (Output(f"A{n % third}", 60 + n % 7, 2),))
            for n in range(sessions)
        ),
        assumed_pictures_per_hour=QUOTED,
        as_of=FIVE_DAYS.add(START, sessions),
        deadline=FIVE_DAYS.add(START, 2 * sessions),
    )
    best = math.inf
    for _ in range(rounds):
        start = time.perf_counter()
        forecast(history, draws=draws)
        best = min(best, time.perf_counter() - start)
    return best * 1000


def table(productions: int, seed: int = 1, draws: int = 1000) -> dict:
    """Everything measured, as plain values: by stage, by regime, over all."""
    every = scores(productions, seed, draws)
    return {
        "productions": productions,
        "stages": {
            **{stage: row([s for s in every if s.case.stage == stage]) for stage in STAGES},
            "over all": row(every),
        },
        "regimes": {
            regime.name: row([s for s in every if s.case.regime == regime.name])
            for regime in REGIMES[:productions]
        },
        "deadline": deadline_bands(every),
        "needed pace": needed_pace(every),
        "milliseconds": milliseconds(),
    }


def as_text(measured: dict) -> str:
    lines = [f"{measured['productions']} simulated productions", ""]
    for part in ("stages", "regimes"):
        rows = measured[part]
        columns = list(next(iter(rows.values())))
        lines.append(f"{part:24}" + "".join(f"{name:>14}" for name in columns))
        for name, values in rows.items():
            figures = (f"{v:14d}" if isinstance(v, int) else f"{v:14.3f}" for v in values.values())
            lines.append(f"{name:24}" + "".join(figures))
        lines.append("")
    for band in measured["deadline"]:
        lines.append(
            f"deadline said {band['said']:.3f}, happened {band['happened']:.3f} "
            f"({band['band']}, {band['forecasts']} forecasts)"
        )
    pace = measured["needed pace"]
    lines.append(
        f"needed pace: said {pace['said']:.2f}, happened {pace['happened']:.3f} "
        f"({pace['forecasts']} forecasts)"
    )
    lines.append(f"200 shots × 200 sessions × 4,000 draws: {measured['milliseconds']:.1f} ms")
    return "\n".join(lines)
