"""Films side by side, each in shares of its own quote, so that currencies and lengths do not
matter."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import ceil

LEAST_AXIS = Decimal("1.5")
MOST_AXIS = Decimal(3)  # what lies beyond is drawn at the edge, and said in words
STEP = Decimal("0.5")


@dataclass(frozen=True)
class FilmShares:
    """A film in shares of what was quoted; None where a figure cannot be compared."""

    label: str
    days: Decimal | None
    pace: Decimal | None
    hour: Decimal | None


@dataclass(frozen=True)
class Mark:
    """A share of the quoted figure, and where it lies across the drawing (0 to 1)."""

    share: Decimal
    x: float


@dataclass(frozen=True)
class FilmMarks:
    """One film's row of the drawing. The bar of its hour runs from `bar_x`, `bar_width` wide."""

    label: str
    days: Mark | None
    pace: Mark | None
    hour: Mark | None
    bar_x: float
    bar_width: float

    @property
    def sentence(self) -> str:
        """The row in words."""
        parts = (("an hour earned", self.hour), ("days", self.days), ("pace", self.pace))
        said = ", ".join(f"{name} {mark.share:.0%}" for name, mark in parts if mark)
        return f"{self.label} against its quote: {said or 'nothing to compare'}."


@dataclass(frozen=True)
class EarningsPlot:
    """Rows on one axis; `quoted_x` is where everything came out as quoted."""

    films: tuple[FilmMarks, ...]
    ticks: tuple[Mark, ...]
    quoted_x: float


def earnings_plot(films: Sequence[FilmShares]) -> EarningsPlot | None:
    """Lay films out on one axis; None where there is none."""
    if not films:
        return None
    shares = [share for film in films for share in (film.days, film.pace, film.hour) if share]
    reach = min(max([LEAST_AXIS, *shares]), MOST_AXIS)
    end = ceil(reach / STEP) * STEP

    def mark(share: Decimal | None) -> Mark | None:
        return None if share is None else Mark(share, float(min(max(share, 0), end) / end))

    quoted_x = float(1 / end)
    steps = int(end / STEP)
    return EarningsPlot(
        films=tuple(_row(film, mark, quoted_x) for film in films),
        ticks=tuple(mark(STEP * n) for n in range(steps + 1)),
        quoted_x=quoted_x,
    )


def _row(film: FilmShares, mark, quoted_x: float) -> FilmMarks:
    hour = mark(film.hour)
    ends = (quoted_x, hour.x if hour else quoted_x)
    return FilmMarks(
        film.label, mark(film.days), mark(film.pace), hour, min(ends), max(ends) - min(ends)
    )
