"""A hand, a tool or a shadow left in one picture.

What is new in a picture against both its neighbours, and gone again in the next, stood there for
that picture only. A puppet moves on instead; where its limbs swing past within one step they look
the same, but then the pictures around show such regions too, in the same place, and that is how
ordinary movement is told from an intruder.
"""

from dataclasses import dataclass, replace

import numpy as np

from .measure import CODE_GAIN, SAMPLES, Planes
from .register import Pose, aligned, box_mean
from .robust import quantile, spread

OBJECT = 6.0  # code values
OBJECT_NOISES = 7.0
OBJECT_AREA = 9  # grey samples: about 3 each way, 75 px of 4,000
SHADOW = 0.016  # share of the code value: 4 % of the light, at the soft edge
SHADOW_NOISES = 4.0
SHADOW_AREA = 40
SHADE_FLOOR = 30  # code values; in the dark, a share of next to nothing is no shadow
SHADE_TIMES = 2.5  # the area of the object found in it, before it is a shadow after all
AWAY = 0.5  # of its strength may be left once it has gone
ORDINARY = 0.35  # of a region's area, seen around it in the pictures near by
NEAR = 4  # pictures each side
REACH = 8  # grey samples around a region that count as the same place
OVER = 0.15  # of a region lies on what moves: then only a large one can be told
OVER_AREA = 100
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
    bright: float  # share of it that differs in brightness, not in colour alone
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
    soft = box_mean(grey_difference, 1)
    return abs(soft) > max(STIRRED, STIRRED_NOISES * spread(soft))


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
    objects = _objects(before, after, between)
    shadows = _shadows(before[0], after[0], between[0], grey)
    # Both look at dark things; a soft shadow is only in part deep enough for an object, and a
    # dark object has no more shade around it than its smoothing.
    kept = [
        s for s in shadows if all(s.area > SHADE_TIMES * o.area for o in objects if _touch(s, o, 0))
    ]
    return kept + [o for o in objects if not any(_touch(s, o, 0) for s in kept)]


def _objects(before, after, between) -> list[Region]:
    new = abs(_agreed(before[0], after[0]))
    tint = _to_samples(abs(_agreed(before[1], after[1])))
    limit = max(OBJECT, OBJECT_NOISES * spread(before[0]))
    tint_limit = max(OBJECT, OBJECT_NOISES * spread(before[1]))
    strength = np.maximum(new / limit, tint / tint_limit)
    back = np.maximum(abs(between[0]) / limit, _to_samples(abs(between[1])) / tint_limit)
    regions = _away(strength, back, strength > 1, OBJECT_AREA, "object")
    # The colour of a tile or two is thin evidence by itself.
    brighter = new > limit
    regions = [replace(r, bright=float(brighter[_inside(r)].sum() / r.area)) for r in regions]
    return [r for r in regions if r.area > 2 * SAMPLES**2 or r.bright > 0.1]


def _shadows(before, after, between, grey) -> list[Region]:
    deep = -box_mean(np.minimum(_agreed(before, after), 0), 2) / (grey + SHADE_FLOOR)
    limit = max(SHADOW, SHADOW_NOISES * spread(box_mean(before, 2) / (grey + SHADE_FLOOR)))
    back = abs(box_mean(between, 2)) / (grey + SHADE_FLOOR)
    return _away(deep / limit, back / limit, deep > limit, SHADOW_AREA, "shadow")


def _inside(region: Region) -> tuple[slice, slice]:
    left, top, right, bottom = region.box
    return slice(top, bottom), slice(left, right)


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
    share = float(moving[_inside(region)].mean())
    return replace(region, on_moving=share)


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
                out[n] = replace(other, box=box, area=region.area + other.area)
                break
        else:
            out.append(region)
    return out


def native_box(region: Region, shape: tuple[int, int], size: tuple[int, int]) -> list[int]:
    per_x, per_y = size[0] / shape[1], size[1] / shape[0]
    left, top, right, bottom = region.box
    return [round(left * per_x), round(top * per_y), round(right * per_x), round(bottom * per_y)]


def _stands_out(region: Region, near: list[Region]) -> bool:
    if region.on_moving > OVER:
        most = max((r.area for r in near), default=0)
        large = region.area >= OVER_AREA and region.area > OVER_TIMES * most
        # Colours shift with every limb that moves, and so do shadows.
        return large and region.why == "object" and region.bright > 0.5
    return not any(r.area >= ORDINARY * region.area for r in near if _touch(region, r, REACH))


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


def _to_samples(tiles: np.ndarray) -> np.ndarray:
    return tiles.repeat(SAMPLES, 0).repeat(SAMPLES, 1)


def _away(strength, back, mask, least: int, why: str) -> list[Region]:
    regions = []
    for rows, columns in connected(mask, least):
        power = float(quantile(strength[rows, columns], 0.5))
        if quantile(back[rows, columns], 0.5) > AWAY * power:
            continue
        box = (int(columns.min()), int(rows.min()), int(columns.max()) + 1, int(rows.max()) + 1)
        regions.append(Region(box, len(rows), power, why, bright=1.0))
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
