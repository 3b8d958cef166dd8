"""The record of past promises: what was said, what happened, and whether to trust it.

Evenings of one production rise and fall together, so a production counts as one observation
however many evenings it had: each of its promises weighs one over their number.
"""

import math
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import NormalDist

import numpy as np

NORMAL = NormalDist()
ENOUGH = 8  # productions before the record may correct a forecast
DOUBT = 0.05  # a record this unlikely, were the promises right, says that they are not
BANDS = (0.0, 0.2, 0.4, 0.6, 0.75, 0.85, 0.95, 1.0)


@dataclass(frozen=True)
class Promise:
    """A chance said one evening, and whether it came true."""

    production: str
    said: float
    happened: bool


@dataclass(frozen=True)
class Band:
    """Promises of about the same chance: said and happened as shares, weighed by production."""

    low: float
    high: float
    said: float
    happened: float
    promises: int
    productions: int


def calibration(promises: Sequence[Promise], bands: Sequence[float] = BANDS) -> tuple[Band, ...]:
    """The calibration picture: one row for each band that has a promise."""
    rows = []
    for low, high in pairwise(bands):
        some = [p for p in promises if low <= p.said < high or p.said == high == bands[-1]]
        if some:
            rows.append(
                Band(
                    low,
                    high,
                    said=_weighed(some, [p.said for p in some]),
                    happened=_weighed(some, [float(p.happened) for p in some]),
                    promises=len(some),
                    productions=len({p.production for p in some}),
                )
            )
    return tuple(rows)


@dataclass(frozen=True)
class Trust:
    """A plain word on the record: `word` is for a badge, `sentence` for the page."""

    word: str  # "too early", "trust it", "too hopeful" or "too careful"
    sentence: str


def trust(promises: Sequence[Promise]) -> Trust:
    """Whether to trust promises, by a two-sided binomial test with productions as the trials."""
    if not promises:
        return Trust("too early", "No finished production has its promises on record yet.")
    said = _weighed(promises, [p.said for p in promises])
    happened = _weighed(promises, [float(p.happened) for p in promises])
    productions = len({p.production for p in promises})
    record = f"Said {100 * said:.0f} %, happened {100 * happened:.0f} %, of {productions}"
    if productions < ENOUGH:
        return Trust(
            "too early",
            f"{record}: too few productions to tell luck from skill; {ENOUGH} begin to tell.",
        )
    held = round(happened * productions)
    if binomial_at_most(held, productions, said) < DOUBT / 2:
        return Trust("too hopeful", f"{record}: too hopeful. Promise later dates than it says.")
    if binomial_at_most(productions - held, productions, 1 - said) < DOUBT / 2:
        return Trust("too careful", f"{record}: too careful. Shooting ends sooner than it says.")
    return Trust("trust it", f"{record}: as good as its word.")


def randomised_place(samples: Sequence[int], happened: int, luck: float) -> float:
    """Where what happened lies among the samples, 0 to 1; `luck` (0 to 1) places it in its day.

    The randomised probability integral transform: even over 0 to 1 when forecasts are right,
    which plain shares of whole days are not.
    """
    ordered = sorted(samples)
    below, upto = bisect_left(ordered, happened), bisect_right(ordered, happened)
    return (below + luck * (upto - below)) / len(samples)


@dataclass(frozen=True)
class Place:
    """The randomised place of what happened, for one evening's forecast."""

    production: str
    place: float


@dataclass(frozen=True)
class Correction:
    """How far the record is off, on the normal scale: happened ~ N(shift, scale²) and not N(0, 1).

    A positive shift: it ended later than promised. A scale above one: the band was too narrow.
    """

    shift: float
    scale: float

    def level(self, chance: float) -> float:
        """The level of the samples to read so that the date holds with `chance`."""
        return NORMAL.cdf(self.shift + self.scale * _score(chance))

    def days(self, days: np.ndarray) -> np.ndarray:
        """Simulated days left, each moved to the level of it that the record speaks for."""
        count = len(days)
        order = np.argsort(days, kind="stable")
        levels = np.array([self.level((n + 0.5) / count) for n in range(count)])
        moved = np.empty_like(days)
        moved[order] = days[order][np.minimum((levels * count).astype(int), count - 1)]
        return moved

    def chance(self, said: float) -> float:
        """What a chance said by the samples is really worth."""
        return NORMAL.cdf((_score(said) - self.shift) / self.scale)


def correction(places: Sequence[Place]) -> Correction | None:
    """A correction from the record; None before ENOUGH productions, or while it is not off.

    Off means a mean beyond what luck gives (normal test), or a spread beyond it (chi-squared, by
    Wilson and Hilferty's normal form). The correction is shrunk towards none, as if four more
    productions had gone as promised.
    """
    by_production: dict[str, list[float]] = {}
    for one in places:
        by_production.setdefault(one.production, []).append(_score(one.place))
    n = len(by_production)
    if n < ENOUGH:
        return None
    means = [sum(scores) / len(scores) for scores in by_production.values()]
    mean = sum(means) / n
    squares = sum(
        sum((score - mean) ** 2 for score in scores) / len(scores)
        for scores in by_production.values()
    )
    bound = NORMAL.inv_cdf(1 - DOUBT / 2)
    mean_off = abs(mean) * math.sqrt(n) > bound
    ninth = 2 / (9 * (n - 1))
    spread_off = abs((squares / (n - 1)) ** (1 / 3) - 1 + ninth) / math.sqrt(ninth) > bound
    if not (mean_off or spread_off):
        return None
    scale = math.sqrt((squares + 4) / (n - 1 + 4)) if spread_off else 1.0
    return Correction(shift=mean * n / (n + 4), scale=scale)


def binomial_at_most(count: int, of: int, chance: float) -> float:
    """Probability of `count` or fewer of `of` occasions that each have `chance`."""
    return sum(math.comb(of, k) * chance**k * (1 - chance) ** (of - k) for k in range(count + 1))


def _score(level: float) -> float:
    """The normal score of a level, kept within what 4,000 samples can tell."""
    return NORMAL.inv_cdf(min(max(level, 0.0005), 0.9995))


def _weighed(promises: Iterable[Promise], values: Sequence[float]) -> float:
    promises = list(promises)
    evenings = Counter(promise.production for promise in promises)
    weights = [1 / evenings[promise.production] for promise in promises]
    return sum(w * v for w, v in zip(weights, values, strict=True)) / sum(weights)
