"""How pictures taken at one rate fill the frames of a film delivered at another."""

from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

from studio.trade.timecode import label_rate, rate_label

# ITU-R BT.709 and BT.2020 frame rates up to 60, in two families: a delivery stays in its own.
WHOLE_DELIVERY_RATES = tuple(Fraction(rate) for rate in (24, 25, 30, 50, 60))
SLOWED_DELIVERY_RATES = (
    Fraction(24000, 1001),
    Fraction(25),
    Fraction(30000, 1001),
    Fraction(50),
    Fraction(60000, 1001),
)
LONGEST_PATTERN = 240
_PATTERN_WORTH_SPELLING_OUT = 8


@dataclass(frozen=True)
class Cadence:
    """What becomes of pictures animated at one rate in a film delivered at another.

    `repeats` is delivered frames per picture. `pattern` is how many frames each picture of one
    cycle is held (0: never seen), cut off after 240 pictures. `unevenness` is the longest hold
    divided by the shortest, None where some picture is never seen. `even_below` and `even_above`
    are the nearest common delivery rates on either side that hold every picture equally long.
    """

    animated: Fraction
    delivered: Fraction
    even: bool
    repeats: Fraction
    pattern: tuple[int, ...]
    unevenness: Fraction | None
    even_below: Fraction | None
    even_above: Fraction | None

    @property
    def sentence(self) -> str:
        """The cadence in plain words."""
        into = f"{rate_label(self.animated)} into {rate_label(self.delivered)}"
        if self.even:
            says = f"{into} is even: each picture is held for {_frames(int(self.repeats))}"
        elif self.repeats < 1:
            unseen = self.repeats.denominator - self.repeats.numerator
            says = f"{into} loses {unseen} of every {self.repeats.denominator} pictures"
        else:
            says = f"{into} is uneven: {self._holds()}"
        if self.even:
            return f"{says}{self._speed_change()}."
        return f"{says}{self._speed_change()}. {self._even_choices()}"

    def _holds(self) -> str:
        if self.repeats.denominator <= _PATTERN_WORTH_SPELLING_OUT:
            return f"pictures are held for {', '.join(map(str, self.pattern))} frames in turn"
        pictures, short = self.repeats.denominator, floor(self.repeats)
        longer = self.repeats.numerator - pictures * short
        return (
            f"of every {pictures} pictures {longer} {'is' if longer == 1 else 'are'} held for "
            f"{_frames(short + 1)} and the rest for {_frames(short)}"
        )

    def _speed_change(self) -> str:
        change = (
            label_rate(self.delivered)
            * self.animated
            / (label_rate(self.animated) * self.delivered)
        )
        if change == 1:
            return ""
        return f", and the film runs 0.1 % {'slower' if change > 1 else 'faster'}"

    def _even_choices(self) -> str:
        choices = [rate_label(rate) for rate in (self.even_below, self.even_above) if rate]
        if not choices:
            return "No common delivery rate holds every picture equally long."
        return f"Nearest even delivery: {' or '.join(choices)}."


def cadence(animated: Fraction, delivered: Fraction) -> Cadence:
    """The cadence of pictures taken at `animated` a second in a film at `delivered` a second.

    Delivered frame k shows picture floor(k * animated / delivered). A rate divided by 1.001 counts
    as its whole rate run slightly slower, so 24 into 23.976 is even.

    Raises RateError for a rate of 0 or less.
    """
    repeats = label_rate(delivered) / label_rate(animated)
    even = repeats.denominator == 1
    below, above = _even_neighbours(animated, delivered)
    shown = min(repeats.denominator, LONGEST_PATTERN)
    return Cadence(
        animated=animated,
        delivered=delivered,
        even=even,
        repeats=repeats,
        pattern=tuple(ceil((k + 1) * repeats) - ceil(k * repeats) for k in range(shown)),
        unevenness=Fraction(ceil(repeats), floor(repeats)) if repeats >= 1 else None,
        even_below=below,
        even_above=above,
    )


def _even_neighbours(
    animated: Fraction, delivered: Fraction
) -> tuple[Fraction | None, Fraction | None]:
    slowed = label_rate(delivered) != delivered
    family = SLOWED_DELIVERY_RATES if slowed else WHOLE_DELIVERY_RATES
    even = [rate for rate in family if (label_rate(rate) / label_rate(animated)).denominator == 1]
    here = label_rate(delivered)
    below = [rate for rate in even if label_rate(rate) < here]
    above = [rate for rate in even if label_rate(rate) > here]
    return (max(below) if below else None, min(above) if above else None)


def _frames(count: int) -> str:
    return "1 frame" if count == 1 else f"{count} frames"
