"""What is written down of a picture beside its measure: its place, how bright it is, its lock."""

import re
from collections.abc import Sequence
from datetime import date
from fractions import Fraction

import numpy as np

from shots.trade.pictures import LockCard, Measure

PLACE_LENGTH = 250
DIGITS = 12  # no camera counts further
NAME_LENGTH = 200
MOST_RANGES = 4  # on one line of a camera report
LUMINANCE = np.array([0.2126, 0.7152, 0.0722])  # WCAG 2.2, relative luminance


def place(day: date, name: str) -> str:
    """Text that sorts the pictures of a shot: by day, then by file number, P2 before P10.

    The day goes first because a camera's numbers begin again; within a day the number is surer
    than the clock.
    """
    padded = re.sub(r"[0-9]+", lambda digits: digits[0].zfill(DIGITS), name.casefold())
    return f"{day.isoformat()} {padded}"[:PLACE_LENGTH]


def brightness(measure: Measure) -> float:
    """Mean relative luminance of the whole picture, 0 to 1."""
    light = np.exp(measure.planes().light).reshape(-1, 3).mean(0)
    return float(np.clip(light @ LUMINANCE, 0, 1))


def lock(
    iso: int | None = None,
    shutter: str = "",
    aperture: float | None = None,
    focal_length: float | None = None,
) -> LockCard:
    """The lock a picture is held against. Automatic exposure and white balance are never locked,
    so they break any card, also an empty one."""
    return LockCard(
        iso=float(iso) if iso else None,
        shutter=seconds(shutter),
        aperture=float(aperture) if aperture else None,
        focal_length=float(focal_length) if focal_length else None,
        white_balance_auto=False,
        exposure_auto=False,
    )


def seconds(shutter: str) -> float | None:
    """A shutter time as it is written on a card, `1/8`, `0.5`, `1/8 s`, in seconds; None where it
    is no number."""
    try:
        value = float(Fraction(shutter.strip().rstrip('s" ').replace(",", ".")))
    except (ValueError, ZeroDivisionError):
        return None
    return value if value > 0 else None


def settings_in_words(settings: dict) -> list[tuple[str, str]]:
    """What the camera wrote, as label and value, in the order of a lock card."""
    lines = []
    if settings.get("focal_length"):
        lines.append(("Focal length", f"{settings['focal_length']:g} mm"))
    if settings.get("aperture"):
        lines.append(("Aperture", f"f/{settings['aperture']:g}"))
    if settings.get("shutter"):
        lines.append(("Shutter", _spoken_shutter(settings["shutter"])))
    if settings.get("iso"):
        lines.append(("Sensitivity", f"ISO {settings['iso']:g}"))
    for key, label in (("white_balance_auto", "White balance"), ("exposure_auto", "Exposure")):
        if settings.get(key) is not None:
            lines.append((label, "automatic" if settings[key] else "set by hand"))
    return lines


def _spoken_shutter(value: float) -> str:
    if value >= 0.3:
        return f"{value:g} s"
    return f"1/{round(1 / value)} s"


def name_ranges(names: Sequence[str]) -> str:
    """File names in order as ranges without their endings: "P0001 to P0048, P0050". Where the
    numbers are broken too often to read, first and last and how often."""
    runs: list[list[str]] = []
    expected = None
    for name in names:
        stem = name.rpartition(".")[0] or name
        if stem == expected:
            runs[-1].append(stem)
        else:
            runs.append([stem])
        expected = _next_stem(stem)
    if len(runs) > MOST_RANGES:
        return f"{runs[0][0]} to {runs[-1][-1]}, broken {len(runs) - 1} times"
    return ", ".join(run[0] if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs)


def _next_stem(stem: str) -> str | None:
    """The name a camera gives after this one; None for a name without a number."""
    match = re.fullmatch(r"(.*?)([0-9]+)([^0-9]*)", stem, re.DOTALL)
    if not match:
        return None
    return f"{match[1]}{int(match[2]) + 1:0{len(match[2])}}{match[3]}"


def shown_name(name: str) -> str:
    """A file's name as it is shown: no folders, no control characters, 200 characters at most."""
    last = re.split(r"[/\\]", name)[-1]
    return printable(last).strip()[-NAME_LENGTH:] or "picture"


def printable(text: str) -> str:
    """Without control characters: a file's name must not command a terminal."""
    return "".join(letter for letter in text if letter.isprintable())
