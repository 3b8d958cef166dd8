"""Lamps: reading their list, adding their watts, and what a circuit should carry for hours."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

MOST_WATTS = 20_000  # one lamp; more is a slip of the finger on a table top
MOST_LAMPS = 60
LONGEST_NAME = 80

# A load that runs 3 h or longer asks for a circuit of 125 % of it, hence 80 % of the circuit
# (NFPA 70 210.19, 210.20).
CONTINUOUS_PERCENT = 80

_LINE = re.compile(
    r"^(?P<name>.*?\S)[\s,;:]+(?P<number>\d+(?:[.,]\d+)?)\s*(?P<unit>k?w)?$", re.IGNORECASE
)


class LampError(ValueError):
    """A lamp list that cannot be read; the message names the line and how to mend it."""


@dataclass(frozen=True)
class LampLine:
    """One lamp: what it is, and its power in watts."""

    name: str
    watts: int

    def __str__(self) -> str:
        return f"{self.name} {self.watts} W"


def parse_lamps(text: str) -> tuple[LampLine, ...]:
    """Read one lamp a line, as `Key 650 W` or `Fill 0.3 kW`. Empty lines are skipped.

    Raises LampError with the line's number.
    """
    lines = [(n, line.strip()) for n, line in enumerate(text.splitlines(), 1) if line.strip()]
    if len(lines) > MOST_LAMPS:
        raise LampError(f"{len(lines)} lamps are more than a set-up holds: {MOST_LAMPS} at most.")
    return tuple(_parse_line(number, line) for number, line in lines)


def _parse_line(number: int, line: str) -> LampLine:
    match = _LINE.match(line)
    if match is None:
        raise LampError(
            f"Line {number}, “{line[:40]}”, has no name with watts after it: write it as Key 650 W."
        )
    per_unit = 1000 if (match["unit"] or "").lower() == "kw" else 1
    watts = round(Decimal(match["number"].replace(",", ".")) * per_unit)
    if not 1 <= watts <= MOST_WATTS:
        raise LampError(
            f"Line {number} says {match['number']} {match['unit'] or 'W'}: "
            f"a lamp has 1 to {MOST_WATTS} W."
        )
    if len(match["name"]) > LONGEST_NAME:
        raise LampError(f"Line {number} has a name over {LONGEST_NAME} letters: shorten it.")
    return LampLine(match["name"], watts)


def total_watts(lamps: Iterable[LampLine]) -> int:
    """All lamps together, in watts."""
    return sum(lamp.watts for lamp in lamps)


@dataclass(frozen=True)
class Load:
    """Lamps against the circuit they hang on: watts, volts, and the breaker's amperes."""

    watts: int
    volts: int
    amps: int

    @property
    def drawn_amps(self) -> float:
        """Current drawn: I = P / V."""
        return self.watts / self.volts

    @property
    def share(self) -> float:
        """Part of the circuit in use, 1 being all of it."""
        return self.watts / (self.volts * self.amps)

    @property
    def continuous_watts(self) -> int:
        """The most to run for 3 h or longer, in watts: 80 % of the circuit, rounded down."""
        return self.volts * self.amps * CONTINUOUS_PERCENT // 100

    @property
    def is_over(self) -> bool:
        """More than should run for hours."""
        return self.watts > self.continuous_watts

    @property
    def sentence(self) -> str:
        """The load in words, deferring to those who decide."""
        verdict = (
            f"over the {self.continuous_watts} W (80 %) such a circuit should carry for 3 hours "
            "or longer: spread the lamps over another circuit."
            if self.is_over
            else f"within the {self.continuous_watts} W (80 %) for 3 hours or longer."
        )
        return (
            f"{self.watts} W draw {self.drawn_amps:.1f} A at {self.volts} V, "
            f"{self.share * 100:.0f} % of a {self.amps} A circuit, {verdict} "
            "Count what else hangs on it. Your local code and a licensed electrician decide."
        )


def load(watts: int, volts: int, amps: int) -> Load:
    """What `watts` of lamps mean for a circuit. Raises LampError where a figure makes no sense."""
    if watts < 0 or volts <= 0 or amps <= 0:
        raise LampError(
            f"{watts} W on {volts} V and {amps} A is no circuit: volts and amperes are above 0, "
            "watts 0 or more."
        )
    return Load(watts, volts, amps)
