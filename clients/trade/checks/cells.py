"""A frame reduced to a few thousand cells, and how much two such grids differ.

Every measure of the pictures works on cells, so a check costs little more than the decoding.
"""

import numpy as np

UNITS = 16
"""Cell values are in sixteenths of an 8-bit level, whatever the file's bit depth."""

# Two lines of every eight, one of each field, so that interlaced pictures count both.
LINES = (2, 5)
EVEN_BYTES = np.uint64(0x00FF00FF00FF00FF)
ADD_LANES = np.uint64(0x0001000100010001)
EIGHT_BITS, TOP_LANE = np.uint64(8), np.uint64(48)
SURELY_UNCHANGED = 0.5
"""Levels. A smaller change is coding noise."""
CHANGED_SHARE = 0.0004
"""Share of the picture that must change for the change to count: 30 x 30 px in HD."""


def cell_side(width: int, height: int) -> int:
    """Pixels per cell side. Averaging over a cell is what quietens coding noise."""
    short = min(width, height)
    for side, least in ((16, 1500), (8, 560), (4, 200), (2, 32)):
        if short >= least:
            return side
    return 1


class AreaMeans:
    """Mean of each ``side`` x ``side`` square of planes that all have one size and depth.

    Eight-bit planes with squares of 8 take a faster path: it adds eight pixels at a time as the
    lanes of one 64-bit number, and takes a quarter of the lines. Its working memory is kept
    between frames, because asking the system for it anew costs more than the sums.
    """

    def __init__(self, side: int, bits: int):
        self.side = side
        self.bits = bits
        self.sums = self.lanes = np.empty((0, 0), np.uint64)

    def of(self, plane: np.ndarray) -> np.ndarray:
        """``plane`` is height x width, uint8 or uint16. Returns rows x columns, int16, in UNITS.

        Edges that do not fill a square are left out.
        """
        side = self.side
        rows, columns = plane.shape[0] // side, plane.shape[1] // side
        squares = plane[: rows * side, : columns * side]
        if side == 8 and plane.dtype == np.uint8 and plane.strides[1] == 1:
            return self._eights(squares, rows, columns)
        sums = squares.reshape(rows, side, columns * side).sum(axis=1, dtype=np.uint32)
        sums = sums.reshape(rows, columns, side).sum(axis=2)
        return (sums * UNITS // (side * side << (self.bits - 8))).astype(np.int16)

    def _eights(self, plane: np.ndarray, rows: int, columns: int) -> np.ndarray:
        """The sum of 2 lines of 8 pixels is their mean in UNITS."""
        if plane.strides[0] % 8:
            plane = np.ascontiguousarray(plane)
        words = plane.view(np.uint64).reshape(rows, 8, columns)
        if self.sums.shape != (rows, columns):
            self.sums, self.lanes = np.empty((2, rows, columns), np.uint64)
        sums, lanes = self.sums, self.lanes
        sums.fill(0)
        for line in LINES:
            pixels = words[:, line]
            sums += np.bitwise_and(pixels, EVEN_BYTES, out=lanes)
            np.right_shift(pixels, EIGHT_BITS, out=lanes)
            sums += np.bitwise_and(lanes, EVEN_BYTES, out=lanes)
        sums *= ADD_LANES
        sums >>= TOP_LANE
        return sums.astype(np.int16)


def change(cells: np.ndarray, before: np.ndarray) -> float:
    """By how many levels the most changed CHANGED_SHARE of the cells differ at the least.

    Both arrays are flat int16 in UNITS. A handful of the most changed cells is left out, so
    that a single badly coded block does not make a new picture. Changes up to
    SURELY_UNCHANGED read 0.
    """
    difference = np.abs(cells - before)
    changed = difference[difference > SURELY_UNCHANGED * UNITS]
    enough = max(2, round(CHANGED_SHARE * cells.size))
    if changed.size < enough:
        return 0.0
    return float(np.partition(changed, -enough)[-enough]) / UNITS


def is_black(luma: np.ndarray, full_range: bool) -> bool:
    """True when all but half a percent of the luma cells lie at black or just above it.

    Just above: 8 levels over code 16 (or 0 for full range). Common practice, no source.
    """
    ceiling = (8 if full_range else 24) * UNITS
    return bool(np.count_nonzero(luma > ceiling) <= luma.size // 200)
