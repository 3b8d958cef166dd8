"""Flash caution by the definitions of WCAG 2.2, success criterion 2.3.1.

A caution, not a certificate: a film that worries anyone belongs in a laboratory's test.

General flash: a pair of opposing changes in relative luminance of 0.10 or more, the darker
state below 0.80. Red flash: a pair of opposing changes to or from a saturated red, R/(R+G+B)
of 0.8 or more, further than 0.2 apart in CIE 1976 u'v'. At most three of either within any
second, unless the flashing area is small: a quarter of any field of 341 x 256 px on a screen of
1024 x 768, on which the film is taken to be shown as large as it fits.
"""

from collections import deque

import numpy as np

from clients.trade.checks.cells import UNITS
from clients.trade.film import FlashFacts

MOST_FLASHES = 3
LUMINANCE_STEP = 0.10
DARKER_STATE = 0.80
RED_SHARE = 0.8
RED_STEP = 0.2
TOO_DARK_FOR_COLOUR = 0.02
"""Sum of linear R, G, B below which a cell counts as neutral: no source, keeps noise out."""

# Y'CbCr to R'G'B' by ITU-T H.273 matrix code: weights of R and B (BT.601, BT.2020, BT.709).
LUMA_WEIGHTS = {5: (0.299, 0.114), 6: (0.299, 0.114), 9: (0.2627, 0.0593), 1: (0.2126, 0.0722)}
RED_PRIMARY = (0.4507, 0.5229)  # u'v' of sRGB red
WHITE = (0.1978, 0.4683)  # u'v' of D65


def linear(encoded: np.ndarray) -> np.ndarray:
    """The sRGB curve as WCAG 2.2 gives it: 0..1 to linear light 0..1."""
    return np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)


CURVE_STEPS = 1023
CURVE = linear(np.arange(CURVE_STEPS + 1) / CURVE_STEPS).astype(np.float32)


def linear_rgb(
    luma: np.ndarray, blue: np.ndarray, red: np.ndarray, matrix: int, full_range: bool
) -> np.ndarray:
    """Linear R, G, B (3 x cells, float32, 0..1) from Y'CbCr cells in UNITS."""
    kr, kb = LUMA_WEIGHTS.get(matrix, LUMA_WEIGHTS[1])
    black, luma_span, colour_span = (0, 255, 255) if full_range else (16, 219, 224)
    y = (luma - np.float32(black * UNITS)) * np.float32(1 / (luma_span * UNITS))
    b = (blue - np.float32(128 * UNITS)) * np.float32(2 * (1 - kb) / (colour_span * UNITS))
    r = (red - np.float32(128 * UNITS)) * np.float32(2 * (1 - kr) / (colour_span * UNITS))
    green = y - np.float32(kr / (1 - kr - kb)) * r - np.float32(kb / (1 - kr - kb)) * b
    encoded = np.stack((y + r, green, y + b))
    steps = np.clip(encoded * CURVE_STEPS + 0.5, 0, CURVE_STEPS).astype(np.int16)
    return CURVE[steps]


def u_v(rgb: np.ndarray, total: np.ndarray) -> np.ndarray:
    """CIE 1976 u', v' of linear sRGB (3 x cells); neutral where it is too dark to tell."""
    r, g, b = rgb
    x = 0.4124 * r + 0.3576 * g + 0.1805 * b
    y = 0.2126 * r + 0.7152 * g + 0.0722 * b
    z = 0.0193 * r + 0.1192 * g + 0.9505 * b
    below = np.maximum(x + 15 * y + 3 * z, 1e-6)
    dark = total < TOO_DARK_FOR_COLOUR
    return np.stack(
        (np.where(dark, WHITE[0], 4 * x / below), np.where(dark, WHITE[1], 9 * y / below))
    ).astype(np.float32)


class FlashCounter:
    """Takes frames as cells and keeps the worst second seen."""

    def __init__(self, rows: int, columns: int, rate: float):
        """``rate`` in frames per second; the grid covers the whole frame."""
        self.shape = (rows, columns)
        self.second = max(1, round(rate))
        scale = min(1024 / columns, 768 / rows)
        self.field = (min(rows, round(256 / scale)), min(columns, round(341 / scale)))
        self.quarter = round(341 / scale) * round(256 / scale) / 4
        self.frame = -1
        self.lows: np.ndarray | None = None
        self.general = Tally(rows * columns)
        self.red = Tally(rows * columns)

    def add(self, rgb: np.ndarray | None) -> None:
        """Linear R, G, B (3 x cells), or None when the frame repeats the one before."""
        self.frame += 1
        self.general.forget(self.frame - self.second)
        self.red.forget(self.frame - self.second)
        if rgb is None:
            return
        luminance = 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2]
        if self.lows is None:
            self._start(rgb, luminance)
            return
        self._measure(self.general, self._luminance_turns(luminance))
        self._measure(self.red, self._red_turns(rgb))

    def facts(self) -> FlashFacts:
        worse = max(self.general, self.red, key=lambda tally: tally.worst)
        return FlashFacts(self.general.worst / 2, self.red.worst / 2, worse.worst_frame)

    def _start(self, rgb: np.ndarray, luminance: np.ndarray) -> None:
        self.lows, self.highs = luminance.copy(), luminance.copy()
        self.rising = np.zeros(luminance.size, dtype=np.int8)  # 0 until the first turn
        total = rgb.sum(axis=0)
        self.on_red = (rgb[0] >= RED_SHARE * total) & (total >= TOO_DARK_FOR_COLOUR)
        self.colour = u_v(rgb, total)
        self.redness = _distance(self.colour, RED_PRIMARY)

    def _luminance_turns(self, now: np.ndarray) -> np.ndarray:
        """Cells whose luminance has now turned by a step since its last low or high."""
        np.minimum(self.lows, now, out=self.lows)
        np.maximum(self.highs, now, out=self.highs)
        up = (now - self.lows >= LUMINANCE_STEP) & (self.lows < DARKER_STATE) & (self.rising < 1)
        down = (self.highs - now >= LUMINANCE_STEP) & (now < DARKER_STATE) & (self.rising > -1)
        down &= ~up
        turned = up | down
        if turned.any():
            self.rising[up], self.rising[down] = 1, -1
            self.lows[turned] = self.highs[turned] = now[turned]
        return turned

    def _red_turns(self, rgb: np.ndarray) -> np.ndarray | None:
        """Cells that have now gone to or from a saturated red, or None when none could."""
        total = rgb.sum(axis=0)
        is_red = (rgb[0] >= RED_SHARE * total) & (total >= TOO_DARK_FOR_COLOUR)
        if not is_red.any() and not self.on_red.any():
            # Nothing red about: no need of the colours, only remember where they start from.
            self.colour[:] = np.array(WHITE, dtype=np.float32)[:, None]
            self.redness[:] = _distance(self.colour, RED_PRIMARY)
            return None
        colour = u_v(rgb, total)
        redness = _distance(colour, RED_PRIMARY)
        turned = (_distance(colour, self.colour) > RED_STEP) & (self.on_red | is_red)
        # Between turns the starting point follows the colour away from where it will turn.
        further = np.where(self.on_red, redness < self.redness, redness > self.redness)
        moved = turned | further
        self.on_red ^= turned
        self.colour[:, moved] = colour[:, moved]
        self.redness[moved] = redness[moved]
        return turned

    def _measure(self, tally: "Tally", turned: np.ndarray | None) -> None:
        if turned is None or not tally.note(self.frame, turned):
            return
        while self._large_enough(tally.counts > tally.worst):
            tally.worst += 1
            tally.worst_frame = self.frame

    def _large_enough(self, cells: np.ndarray) -> bool:
        """True when ``cells`` cover more than a quarter of some field of view."""
        if np.count_nonzero(cells) <= self.quarter:
            return False
        sums = np.zeros((self.shape[0] + 1, self.shape[1] + 1), dtype=np.int32)
        sums[1:, 1:] = cells.reshape(self.shape).cumsum(axis=0).cumsum(axis=1)
        high, wide = self.field
        inside = sums[high:, wide:] - sums[:-high, wide:] - sums[high:, :-wide]
        return bool((inside + sums[:-high, :-wide]).max() > self.quarter)


class Tally:
    """Turns of each cell within the last second, and the most seen over enough area."""

    def __init__(self, cells: int):
        self.counts = np.zeros(cells, dtype=np.int16)
        self.recent: deque[tuple[int, np.ndarray]] = deque()
        self.worst = 0
        self.worst_frame = 0

    def note(self, frame: int, turned: np.ndarray) -> bool:
        """Adds the cells that turned in ``frame``; False when none did."""
        if not turned.any():
            return False
        self.counts += turned
        self.recent.append((frame, turned))
        return True

    def forget(self, frame: int) -> None:
        """Takes away what happened in ``frame`` or before."""
        while self.recent and self.recent[0][0] <= frame:
            self.counts -= self.recent.popleft()[1]


def _distance(colour: np.ndarray, other: np.ndarray | tuple[float, float]) -> np.ndarray:
    return np.hypot(colour[0] - other[0], colour[1] - other[1])
