"""Three-point estimates for work nobody has measured: best case, most likely, worst case (PERT)."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from math import sqrt
from statistics import NormalDist

from clients.trade.quoting.errors import QuoteError, check_number


@dataclass(frozen=True)
class ThreePoint:
    """Three guesses in days or units, from best case to worst. Raises QuoteError."""

    optimistic: Decimal
    likely: Decimal
    pessimistic: Decimal

    def __post_init__(self):
        for field in ("optimistic", "likely", "pessimistic"):
            check_number(field, getattr(self, field), f"The {field} estimate")
        if not self.optimistic <= self.likely <= self.pessimistic:
            raise QuoteError(
                "likely",
                f"Best case {self.optimistic}, most likely {self.likely} and worst case "
                f"{self.pessimistic} are out of order: enter them from small to large.",
            )

    @property
    def mean(self) -> Decimal:
        """(O + 4M + P) / 6."""
        return (self.optimistic + 4 * self.likely + self.pessimistic) / Decimal(6)

    @property
    def spread(self) -> Decimal:
        """Standard deviation, (P - O) / 6."""
        return (self.pessimistic - self.optimistic) / Decimal(6)


def chance_within(estimates: Iterable[ThreePoint], limit: Decimal) -> float:
    """The chance that estimates done one after the other fit in `limit`, by the normal curve."""
    estimates = list(estimates)
    mean = float(sum(one.mean for one in estimates))
    variance = sum(float(one.spread) ** 2 for one in estimates)
    if variance == 0:
        return 1.0 if mean <= limit else 0.0
    return NormalDist(mean, sqrt(variance)).cdf(float(limit))
