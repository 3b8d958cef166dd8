"""A hand, a tool or a shadow left in one picture.

What is new in a picture against both its neighbours, and gone again in the next, stood there for
that picture only. A puppet moves on instead; where its limbs swing past within one step they look
the same, but then the pictures around show such regions too, in the same place, and that is how
ordinary movement is told from an intruder.
"""

from dataclasses import dataclass

import numpy as np

from .measure import SAMPLES, Planes
from .register import Pose, _box_mean, aligned

CODE_GAIN = 0.42  # sRGB codes go about as linear light to this power
OBJECT = 6.5  # code values
OBJECT_NOISES = 7.0
OBJECT_AREA = 9  # grey samples: about 3 each way, 75 px of 4,000
SHADOW = 0.016  # share of the code value: 4 % of the light, at the soft edge
SHADOW_NOISES = 4.0
SHADOW_AREA = 40
AWAY = 0.5  # of its strength may be left once it has gone
ORDINARY = 0.35  # of a region's area, seen around it in the pictures near by
NEAR = 4  # pictures each side
REACH = 8  # grey samples around a region that count as the same place
OVER = 0.5  # of a region lies on what moves: then only a large one can be told
OVER_AREA = 40
OVER_TIMES = 2.5
STIRRED = 1.2  # code values over 3 by 3 samples: something moved
STIRRED_NOISES = 4.0


@dataclass(frozen=True)
class Region:
    """A connected region that is new and away again; box in grey samples."""

    box: tuple[int, int, int, int]  # left, top, right, bottom
    area: int
    strength: float
    why: str  # "object" or "shadow"
    on_moving: float = 0.0  # share of it that lies on what moves near by


@dataclass(frozen=True)
class View:
    """One picture as the others are compared with it: light taken out, colour beside."""

    grey: np.ndarray
    colour: np.ndarray  # red less blue per tile, in code values
    pose: Pose
    size: tuple[int, int]


def view(planes: Planes, pose: Pose, gain: float, rb: float, size: tuple[int, int]) -> View:
    """`gain` and `rb` as natural logarithms against the first picture."""
    red, blue = planes.light[..., 0] - rb / 2 - gain, planes.light[..., 2] + rb / 2 - gain
    colour = 255 * (np.exp(CODE_GAIN * red) - np.exp(CODE_GAIN * blue))
    return View(planes.grey * np.exp(-CODE_GAIN * gain), colour, pose, size)


def difference(this: View, other: View) -> tuple[np.ndarray, np.ndarray]:
    """`this` less `other`, brought on to `this`: grey samples, and tiles' colour."""
    pose = Pose(*(other.pose.vector() - this.pose.vector()))
    grey = this.grey - aligned(other.grey, pose, this.size)
    colour = this.colour - aligned(other.colour, pose, this.size)
    return grey, colour


def moved_samples(grey_difference: np.ndarray) -> np.ndarray:
    """True where something moved between two pictures, by their `difference`."""
    soft = _box_mean(grey_difference, 1)
    return abs(soft) > max(STIRRED, STIRRED_NOISES * _spread(soft))


def new_regions(
    before: tuple[np.ndarray, np.ndarray],
    after: tuple[np.ndarray, np.ndarray],
    between: tuple[np.ndarray, np.ndarray],
    grey: np.ndarray,
) -> list[Region]:
    """Regions that stand out of a picture against both neighbours and are away again.

    `before` and `after` are the picture's differences to its neighbours, `between` the
    difference of the neighbours, `grey` the picture itself.
    """
    new = _agreed(before[0], after[0])
    tint = _spread_to_samples(_agreed(before[1], after[1]))
    back = abs(between[0])
    limit = max(OBJECT, OBJECT_NOISES * _spread(before[0]))
    tint_limit = max(OBJECT, OBJECT_NOISES * _spread(before[1]))
    strength = np.maximum(abs(new) / limit, abs(tint) / tint_limit)
    back = np.maximum(back / limit, _spread_to_samples(abs(between[1])) / tint_limit)
    regions = _away(strength, back, strength > 1, OBJECT_AREA, "object")

    deep = _box_mean(np.minimum(new, 0), 2) / (grey + 4)
    soft_limit = max(SHADOW, SHADOW_NOISES * _spread(_box_mean(before[0], 2) / (grey + 4)))
    back = abs(_box_mean(between[0], 2)) / (grey + 4)
    dark = -deep
    shadows = _away(dark / soft_limit, back / soft_limit, dark > soft_limit, SHADOW_AREA, "shadow")
    return regions + [s for s in shadows if not any(_touch(s, r, 0) for r in regions)]


def intruders(regions: list[list[Region]]) -> list[list[Region]]:
    """Of each picture's regions, those that no picture near by shows as ordinary movement."""
    found = []
    for n, here in enumerate(regions):
        near = [
            r
            for k in range(max(n - NEAR, 0), min(n + NEAR + 1, len(regions)))
            if k != n
            for r in regions[k]
        ]
        found.append([r for r in here if _stands_out(r, near)])
    return found


def with_moving(region: Region, moving: np.ndarray) -> Region:
    """The region with the share of its box that lies on what moves near by."""
    left, top, right, bottom = region.box
    share = float(moving[top:bottom, left:right].mean())
    return Region(region.box, region.area, region.strength, region.why, share)


def joined(regions: list[Region]) -> list[Region]:
    """Regions that nearly touch are one thing: a hand's fingers, a tool's parts."""
    out: list[Region] = []
    for region in sorted(regions, key=lambda r: -r.area):
        for n, other in enumerate(out):
            if _touch(region, other, 4):
                box = (
                    *np.minimum(region.box[:2], other.box[:2]).tolist(),
                    *np.maximum(region.box[2:], other.box[2:]).tolist(),
                )
                out[n] = Region(
                    box, region.area + other.area, max(region.strength, other.strength), other.why
                )
                break
        else:
            out.append(region)
    return out


def native_box(region: Region, shape: tuple[int, int], size: tuple[int, int]) -> list[int]:
    per_x, per_y = size[0] / shape[1], size[1] / shape[0]
    left, top, right, bottom = region.box
    return [round(left * per_x), round(top * per_y), round(right * per_x), round(bottom * per_y)]


def _stands_out(region: Region, near: list[Region]) -> bool:
    around = [r.area for r in near if _touch(region, r, REACH)]
    if region.on_moving > OVER:
        most = max((r.area for r in near), default=0)
        return region.area >= OVER_AREA and region.area > OVER_TIMES * most
    return not any(area >= ORDINARY * region.area for area in around)


def _touch(one: Region, other: Region, reach: int) -> bool:
    return (
        one.box[0] - reach < other.box[2]
        and other.box[0] - reach < one.box[2]
        and one.box[1] - reach < other.box[3]
        and other.box[1] - reach < one.box[3]
    )


def _agreed(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """The smaller of two differences where their signs agree, else 0."""
    smaller = np.minimum(abs(one), abs(other))
    return np.where(one * other > 0, np.sign(one) * smaller, 0)


def _spread(plane: np.ndarray) -> float:
    """Robust standard deviation, about nought."""
    return float(1.4826 * np.median(abs(plane)))


def _spread_to_samples(tiles: np.ndarray) -> np.ndarray:
    return tiles.repeat(SAMPLES, 0).repeat(SAMPLES, 1)


def _away(strength, back, mask, least: int, why: str) -> list[Region]:
    regions = []
    for rows, columns in connected(mask, least):
        power = strength[rows, columns]
        if np.median(back[rows, columns]) > AWAY * np.median(power):
            continue
        box = (int(columns.min()), int(rows.min()), int(columns.max()) + 1, int(rows.max()) + 1)
        regions.append(Region(box, len(rows), float(np.median(power)), why))
    return regions


def connected(mask: np.ndarray, least: int) -> list[tuple[np.ndarray, np.ndarray]]:
    """Connected regions (sides and corners) of at least `least` samples: rows, columns of each."""
    if mask.sum() < least:
        return []
    width = mask.shape[1] + 2
    left = set((np.flatnonzero(np.pad(mask, 1))).tolist())
    around = [-width - 1, -width, -width + 1, -1, 1, width - 1, width, width + 1]
    regions = []
    while left:
        heap = [left.pop()]
        region = []
        while heap:
            at = heap.pop()
            region.append(at)
            for step in around:
                if at + step in left:
                    left.remove(at + step)
                    heap.append(at + step)
        if len(region) >= least:
            rows, columns = np.divmod(np.array(region), width)
            regions.append((rows - 1, columns - 1))
    return regions
