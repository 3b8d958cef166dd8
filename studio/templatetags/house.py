"""What templates need to print the trade's numbers."""

from fractions import Fraction

from django import template

from studio.trade import timecode
from studio.trade.strip import Strip

register = template.Library()


@register.filter
def screen_time(frames: int | None, rate: Fraction) -> str:
    """Frames as seconds and frames: `4 s 06 f`."""
    return "" if frames is None else timecode.seconds_and_frames(frames, rate)


@register.filter
def rate(value: Fraction) -> str:
    """A frame rate as it is spoken of: `23.976`, `12.5`, `24`."""
    return timecode.rate_label(value)


@register.filter
def percent(share: float | None) -> str:
    """A chance or share as whole per cent; never a certainty it is not."""
    if share is None:
        return ""
    if 0 < share < 0.01:
        return "under 1 %"
    if 0.99 < share < 1:
        return "over 99 %"
    return f"{share * 100:.0f} %"


@register.filter
def coord(value: float) -> str:
    """A drawing coordinate: short, and with a point whatever the language."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


@register.simple_tag
def common_rates() -> list[str]:
    """The frame rates offered in a list."""
    return [label for label, _ in timecode.COMMON_RATES]


# The strip's drawing is this wide in its own units, whatever the film's length.
STRIP_WIDTH = 1000


@register.inclusion_tag("parts/_strip.html")
def film_strip(strip: Strip) -> dict:
    """The film strip as a picture: geometry in frames, drawn on a fixed width."""
    return {"strip": strip, "scale": STRIP_WIDTH / strip.span_frames, "width": STRIP_WIDTH}


@register.filter
def times(value: float, factor: float) -> float:
    """`value` × `factor`, for drawings."""
    return value * factor
