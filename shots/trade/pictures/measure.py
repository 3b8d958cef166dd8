"""One picture, measured on its own: a few kB that can be kept and judged later.

Three planes are kept, all on one grid of about 900 roughly square tiles:

- *tiles*: mean linear light of each tile, red, green and blue. Light adds up in linear light, so a
  lamp that dims by 1 % is 1 % here whatever the picture shows.
- *detail*: energy of the finest detail in each tile, which blur takes away first.
- *grey*: a small picture, four samples a tile each way, smoothed before it is sampled. Photographs
  have as steep gradients small as large, so shifts of a hundredth of a sample can be read from it.
"""

import json
import zlib
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from functools import lru_cache

import numpy as np

from .facts import Facts, Settings

TILES = 900
SAMPLES = 4  # grey samples per tile, each way
SMOOTHING = 0.7  # Gaussian sigma in grey samples: what could alias is gone before sampling
WIDEST = 5.0  # sigmas; further away a weight is lost in rounding
BANDS = 8
LUMA = np.array([0.299, 0.587, 0.114], np.float32)  # BT.601, as a JPEG's own grey

CODE_GAIN = 0.42  # sRGB codes go about as linear light to this power
GREY_STEP = 0.25  # code values; finer than the noise left after smoothing
LIGHT_STEP = 1 / 4096  # of a natural logarithm: 0.024 % of light
LIGHT_FLOOR = 1e-5
DETAIL_STEP = 1 / 512


def _srgb_to_linear() -> np.ndarray:
    """IEC 61966-2-1, for the 256 codes."""
    code = np.arange(256) / 255
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)


LINEAR = _srgb_to_linear().astype(np.float32)


@dataclass(frozen=True)
class Planes:
    """The unpacked planes: `light` (rows, columns, 3) is the natural logarithm of linear light,
    `detail` (rows, columns) the natural logarithm of fine-detail energy, `grey`
    (4 rows, 4 columns) in code values 0 to 255. All float32.
    """

    light: np.ndarray
    detail: np.ndarray
    grey: np.ndarray


@dataclass(frozen=True)
class Measure:
    """What is kept of one picture. `packed` holds the planes, compressed."""

    facts: Facts
    rows: int
    columns: int
    packed: bytes

    def planes(self) -> Planes:
        """Unpack; raises ValueError when the bytes are damaged."""
        try:
            raw = np.frombuffer(zlib.decompress(self.packed), np.uint8)
        except zlib.error as error:
            raise ValueError(f"The measure of {self.facts.name} is damaged.") from error
        tiles = self.rows * self.columns
        words = _join_bytes(raw)
        light, detail, grey = np.split(words, [3 * tiles, 4 * tiles])
        light = light.reshape(self.rows, self.columns, 3).astype(np.float32)
        detail = detail.reshape(self.rows, self.columns).astype(np.float32)
        grey = grey.reshape(self.rows * SAMPLES, self.columns * SAMPLES)
        grey = np.cumsum(grey, axis=1, dtype=np.uint16).astype(np.float32)
        return Planes(
            light=light * LIGHT_STEP + np.float32(np.log(LIGHT_FLOOR)),
            detail=detail * DETAIL_STEP - 8,
            grey=grey * GREY_STEP,
        )

    def to_bytes(self) -> bytes:
        """For a database row; `from_bytes` reads it back."""
        facts = asdict(self.facts)
        facts["taken"] = self.facts.taken and self.facts.taken.isoformat()
        offset = self.facts.utc_offset
        facts["utc_offset"] = None if offset is None else offset.total_seconds()
        header = json.dumps({"facts": facts, "rows": self.rows, "columns": self.columns})
        return header.encode() + b"\n" + self.packed

    @classmethod
    def from_bytes(cls, data: bytes) -> "Measure":
        header, _, packed = data.partition(b"\n")
        fields = json.loads(header)
        facts = fields["facts"]
        facts["settings"] = Settings(**facts["settings"])
        if facts["taken"]:
            facts["taken"] = datetime.fromisoformat(facts["taken"])
        if facts["utc_offset"] is not None:
            facts["utc_offset"] = timedelta(seconds=facts["utc_offset"])
        return cls(Facts(**facts), fields["rows"], fields["columns"], packed)


def measure(pixels: np.ndarray, facts: Facts) -> Measure:
    """Measure one upright picture, `pixels` uint8 of shape (height, width, 3), sRGB.

    Raises ValueError for another shape or type.
    """
    if pixels.dtype != np.uint8 or pixels.ndim != 3 or pixels.shape[2] != 3:
        raise ValueError(
            f"Pixels must be uint8 (height, width, 3), got {pixels.dtype} {pixels.shape}."
        )
    rows, columns = grid_of(facts.width, facts.height)
    grey = pixels @ LUMA
    small = _smoothed_samples(grey, rows * SAMPLES, columns * SAMPLES)
    # Every other line is enough for a mean, and takes half the time.
    light = _tile_means(np.take(LINEAR, pixels[::2]), rows, columns)
    detail = _fine_detail(grey, rows, columns)
    words = np.concatenate(
        [
            _quantised(np.log(light + LIGHT_FLOOR) - np.log(LIGHT_FLOOR), LIGHT_STEP).ravel(),
            _quantised(np.log(detail + 1e-3) + 8, DETAIL_STEP).ravel(),
            # Neighbours differ little, so differences pack smaller; they wrap in 16 bits, and back.
            np.diff(_quantised(small, GREY_STEP), axis=1, prepend=np.uint16(0)).ravel(),
        ]
    )
    return Measure(facts, rows, columns, zlib.compress(_split_bytes(words), 1))


def grid_of(width: int, height: int) -> tuple[int, int]:
    """Rows and columns of roughly square tiles, about 900 in all, for a picture of this size."""
    rows = max(2, round((TILES * height / width) ** 0.5))
    columns = max(2, round(TILES / rows))
    return rows, columns


def _quantised(values: np.ndarray, step: float) -> np.ndarray:
    return np.clip(np.rint(values / step), 0, 65535).astype(np.uint16)


def _split_bytes(words: np.ndarray) -> bytes:
    """All low bytes, then all high bytes, which are nearly constant and pack to little."""
    return np.concatenate([words & 0xFF, words >> 8]).astype(np.uint8).tobytes()


def _join_bytes(raw: np.ndarray) -> np.ndarray:
    low, high = np.split(raw.astype(np.uint16), 2)
    return low | high << 8


def _tile_means(plane: np.ndarray, rows: int, columns: int) -> np.ndarray:
    """Mean of a plane (height, width) or (height, width, channels) over each tile."""
    height, width = plane.shape[:2]
    return _weighted(plane, _shares(height, rows), _shares(width, columns))


def _smoothed_samples(grey: np.ndarray, rows: int, columns: int) -> np.ndarray:
    height, width = grey.shape
    return _weighted(grey, _gaussian(height, rows), _gaussian(width, columns))


# Weights of pixels, band after band: the pixels a band reaches, and their weights (parts, pixels).
Bands = list[tuple[slice, np.ndarray]]


@lru_cache(maxsize=8)
def _shares(length: int, parts: int) -> Bands:
    """Share of each pixel in each of `parts` equal stretches."""
    edges = np.linspace(0, length, parts + 1)
    pixel = np.arange(length)
    upper = np.minimum(pixel + 1, edges[1:, None])
    lower = np.maximum(pixel, edges[:-1, None])
    return _in_bands(np.clip(upper - lower, 0, None))


@lru_cache(maxsize=8)
def _gaussian(length: int, samples: int) -> Bands:
    """Weights of each pixel in each of `samples` smoothed samples."""
    centre = (np.arange(samples) + 0.5) * length / samples - 0.5
    distance = (np.arange(length) - centre[:, None]) * samples / length / SMOOTHING
    return _in_bands(np.where(abs(distance) < WIDEST, np.exp(-0.5 * distance**2), 0))


def _in_bands(weights: np.ndarray) -> Bands:
    """Weights (parts, pixels), made to add up to 1 for each part. A part reaches few pixels; so it
    is several times quicker to take neighbouring parts together and leave the other pixels out."""
    weights = (weights / weights.sum(1, keepdims=True)).astype(np.float32)
    bands = []
    for band in np.array_split(weights, min(BANDS, len(weights))):
        reached = np.flatnonzero(band.any(0))
        pixels = slice(reached[0], reached[-1] + 1)
        bands.append((pixels, np.ascontiguousarray(band[:, pixels])))
    return bands


def _weighted(plane: np.ndarray, down: Bands, across: Bands) -> np.ndarray:
    """Weighted means of a plane (height, width) or (height, width, channels), both ways."""
    return _along(across, _along(down, plane).swapaxes(0, 1)).swapaxes(0, 1)


def _along(bands: Bands, plane: np.ndarray) -> np.ndarray:
    """Weighted means along the first axis."""
    lines = plane.reshape(len(plane), -1)
    means = np.concatenate([weights @ lines[pixels] for pixels, weights in bands])
    return means.reshape(-1, *plane.shape[1:])


def _fine_detail(grey: np.ndarray, rows: int, columns: int) -> np.ndarray:
    """Mean square of the second difference between neighbouring pixels, along and across, on every
    other line."""
    above, line, below = grey[:-2:2], grey[1:-1:2], grey[2::2]
    energy = (above - 2 * line + below) ** 2
    energy[:, 1:-1] += (line[:, :-2] - 2 * line[:, 1:-1] + line[:, 2:]) ** 2
    return _tile_means(energy, rows, columns)
