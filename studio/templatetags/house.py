"""What templates need to print the trade's numbers."""

from fractions import Fraction
from functools import lru_cache

from django import template
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from studio.trade import file_size as sizes
from studio.trade import timecode
from studio.trade.fan import Fan
from studio.trade.strip import Strip

register = template.Library()


@register.filter
def screen_time(frames: int | str | None, rate: Fraction) -> str:
    """Frames as seconds and frames: `4 s 06 f`."""
    return "" if frames in (None, "") else timecode.seconds_and_frames(frames, rate)


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
def file_size(size: int) -> str:
    """A file's size: `906.0 MB`."""
    return sizes.file_size(size)


@register.filter
def coord(value: float) -> str:
    """A drawing coordinate: short, and with a point whatever the language."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


@register.simple_tag
def common_rates() -> list[str]:
    """The frame rates offered in a list."""
    return [label for label, _ in timecode.COMMON_RATES]


@register.simple_tag
@lru_cache(64)
def film_strip(strip: Strip) -> SafeString:
    """The film strip as a picture; the same strip is drawn once."""
    return render_to_string("parts/_strip.html", {"strip": strip})


@register.filter
def strip_x(frames: float, strip: Strip) -> str:
    """A place or width on the strip, from frames to a share of the page's width."""
    return f"{coord(100 * frames / strip.span_frames)}%"


@register.inclusion_tag("parts/_fan.html")
def film_fan(fan: Fan, sentence: str) -> dict:
    """The fan as a picture: kept pictures, the budget, and the band of where it will end."""
    return {"fan": fan, "sentence": sentence}


@register.filter
def fan_across(x: float) -> str:
    """Across the fan's drawing, from the unit box."""
    return f"{coord(100 * x)}%"


@register.filter
def fan_down(y: float) -> str:
    """Down the fan's drawing: the unit box counts upwards, a screen downwards."""
    return f"{coord(100 * (1 - y))}%"


@register.filter
def fan_points(points) -> str:
    """Points of the unit box as an SVG polyline in a box of 1000 by 1000."""
    return " ".join(f"{coord(1000 * x)},{coord(1000 * (1 - y))}" for x, y in points)


@register.filter
def share_width(share: float | None) -> str:
    """A share of 1 as a width of 100."""
    return coord(100 * min(max(share or 0, 0), 1))


@register.filter
def signed(value: int) -> str:
    """A change with its sign: `+5`, `−1`."""
    return f"{value:+}".replace("-", "−")


@register.filter
def negative(value: int) -> int:
    """What undoes a change of `value`."""
    return -value


@register.filter
def tenth(value: float) -> str:
    """From a drawing 1000 across to per cent of the page's width."""
    return coord(value / 10)
