"""Synthetic shots with known faults: stills of a textured puppet walking over a photograph.

`python -m tests.stills --clean 1000 --faults 6` prints what the picture check finds by strength,
its false alarms, the error of its shifts, and its speed beside a plain decode.

The photographs are those shipped inside the scikit-image package.
"""

import argparse
import io
import sys
import tempfile
import time
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import lru_cache
from pathlib import Path

import numpy as np
import skimage
from PIL import ExifTags, Image
from scipy import ndimage

PHOTOGRAPHS = ("coffee.png", "astronaut.png", "motorcycle_left.png", "rocket.jpg", "chelsea.png")
TEXTURES = ("gravel.png", "brick.png", "grass.png")
SIZES = {"720p": (1280, 720), "1080p": (1920, 1080), "12MP": (4032, 3024)}


@dataclass(frozen=True)
class Fault:
    """One planted fault. `strength`: share of light for flicker, lamp, colour, drift and shadow;
    native pixels for bump and blur; share of the picture's width for a hand."""

    kind: str
    strength: float
    stay: bool = False


@dataclass(frozen=True)
class Still:
    name: str
    data: bytes
    box: tuple[float, float, float, float] | None = None  # of the hand or shadow, native pixels
    shift: tuple[float, float, float] = (0.0, 0.0, 0.0)  # dx, dy in native pixels, degrees


@dataclass
class Set:
    """What is in front of the camera, and the camera."""

    size: tuple[int, int]
    seed: int
    puppet: float = 0.08  # share of the frame
    step: float = 0.004  # of the width, per picture
    quality: int = 90
    jitter: float = 0.0008  # sd of the light from picture to picture
    noise: float = 1.0
    holds: frozenset[int] = frozenset()
    exif: bool = True
    start: datetime = field(default_factory=lambda: datetime(2026, 3, 2, 15, 55, 55))
    gap: float = 20.0  # seconds

    def __post_init__(self):
        self.rng = np.random.default_rng(self.seed)
        self.albedo = backdrop(self.size, self.seed)
        self.lamps = lamps(self.size, self.rng)
        self.pool = self.rng.standard_normal((self.size[1], self.size[0], 3), dtype=np.float32)
        self.path = self.rng.uniform(0.3, 0.7, 2)
        self.angle = self.rng.uniform(0, 6.28)


@lru_cache(maxsize=2)
def backdrop(size: tuple[int, int], seed: int) -> np.ndarray:
    """A photograph enlarged, with fine texture laid over, in linear light, (height, width, 3)."""
    rng = np.random.default_rng(seed)
    folder = Path(skimage.__file__).parent / "data"
    photograph = Image.open(folder / PHOTOGRAPHS[seed % len(PHOTOGRAPHS)]).convert("RGB")
    width, height = size
    fit = max(width / photograph.width, height / photograph.height)
    photograph = photograph.resize(
        (round(photograph.width * fit), round(photograph.height * fit)), Image.Resampling.BICUBIC
    ).crop((0, 0, width, height))
    texture = np.asarray(Image.open(folder / TEXTURES[seed % len(TEXTURES)]).convert("L"))
    turns = rng.integers(0, 4)
    texture = np.rot90(texture, turns)
    reach = (-(-height // 512), -(-width // 512))
    texture = np.tile(texture, reach)[:height, :width].astype(np.float32)
    texture = 1 + (texture / texture.mean() - 1) * 0.35
    code = np.asarray(photograph, np.float32) / 255
    return np.clip(code**2.2 * texture[..., None], 0.002, 1).astype(np.float32) * 0.8


def lamps(size: tuple[int, int], rng) -> list[np.ndarray]:
    """Three lamps' light over the set; together 1 on average."""
    width, height = size
    y, x = np.mgrid[0:height:16, 0:width:16].astype(np.float32)
    fields = []
    for at in (0.15, 0.5, 0.85):
        far = ((x / width - at) ** 2 + (y / height - rng.uniform(0.2, 0.8)) ** 2) / 0.08
        fields.append(np.exp(-far) + 0.15)
    total = sum(fields)
    full = lambda f: np.asarray(  # noqa: E731
        Image.fromarray(f).resize(size, Image.Resampling.BICUBIC)
    )
    shade = 0.75 + 0.25 * total / total.max()
    return [full((f / total * shade).astype(np.float32)) for f in fields]


def still(set_: Set, index: int, *, gain=1.0, lamp=1.0, red=1.0, shift=(0, 0, 0), blur=0.0,
          hand=None, shadow=None, pose=None, name=None, number=None) -> Still:
    """Photograph the set once."""
    width, height = set_.size
    lit = sum(f * (lamp if n == 0 else 1) for n, f in enumerate(set_.lamps))
    albedo = moved(set_.albedo, shift)
    frame = albedo * lit[..., None]
    put_puppet(frame, set_, index if pose is None else pose, shift)
    box = None
    if shadow:
        box = darken(frame, set_, shadow)
    if hand:
        box = put_hand(frame, set_, hand)
    rng = np.random.default_rng((set_.seed, index))
    frame *= gain * (1 + rng.normal(0, set_.jitter))
    frame[..., 0] *= red
    if blur:
        frame = ndimage.gaussian_filter(frame, (blur, blur, 0), truncate=3)
    grain = np.roll(set_.pool, tuple(rng.integers(0, 500, 2)), (0, 1))
    frame += grain * np.sqrt(np.clip(frame, 0, None) * 4e-5 + 1e-6) * set_.noise
    code = encode(frame)
    out = io.BytesIO()
    exif = exif_of(set_, index) if set_.exif else b""
    Image.fromarray(code).save(out, "JPEG", quality=set_.quality, exif=exif)
    name = name or f"P{(number if number is not None else index + 1):04d}.jpg"
    return Still(name, out.getvalue(), box, shift)


LINEAR_STEPS = np.linspace(0, 1, 16384)
SRGB = np.where(
    LINEAR_STEPS <= 0.0031308, LINEAR_STEPS * 12.92, 1.055 * LINEAR_STEPS ** (1 / 2.4) - 0.055
)
SRGB8 = np.rint(SRGB * 255).astype(np.uint8)


def encode(linear: np.ndarray) -> np.ndarray:
    return SRGB8[(np.clip(linear, 0, 1) * 16383).astype(np.uint16)]


def exif_of(set_: Set, index: int, **changed) -> bytes:
    taken = set_.start + timedelta(seconds=set_.gap * index)
    exif = Image.Exif()
    ifd = exif.get_ifd(ExifTags.IFD.Exif)
    ifd[ExifTags.Base.DateTimeOriginal] = taken.strftime("%Y:%m:%d %H:%M:%S")
    ifd[ExifTags.Base.SubsecTimeOriginal] = f"{taken.microsecond // 1000:03d}"
    ifd[ExifTags.Base.ISOSpeedRatings] = 100
    ifd[ExifTags.Base.ExposureTime] = 0.5
    ifd[ExifTags.Base.FNumber] = 8.0
    ifd[ExifTags.Base.FocalLength] = 50.0
    ifd[ExifTags.Base.WhiteBalance] = 1
    ifd[ExifTags.Base.ExposureMode] = 1
    for tag, value in changed.items():
        ifd[getattr(ExifTags.Base, tag)] = value
    return exif.tobytes()


def moved(plane: np.ndarray, shift) -> np.ndarray:
    """The plane with its content moved by dx, dy (px) and turned clockwise (degrees)."""
    dx, dy, turn = shift
    if not any(shift):
        return plane.copy()
    height, width = plane.shape[:2]
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    matrix = np.array([[c, -s], [s, c]])  # output (y, x) to input (y, x)
    centre = np.array([(height - 1) / 2, (width - 1) / 2])
    offset = centre - matrix @ (centre + (dy, dx))
    out = np.empty_like(plane)
    for channel in range(plane.shape[2]):
        out[..., channel] = ndimage.affine_transform(
            plane[..., channel], matrix, offset, order=3, mode="nearest"
        )
    return out


def put_puppet(frame: np.ndarray, set_: Set, pose: float, shift) -> None:
    """A body, a head and two swinging arms in felt, with a soft shadow."""
    if not set_.puppet:
        return
    width, height = set_.size
    pose -= sum(1 for h in set_.holds if h <= pose)
    unit = (set_.puppet * width * height / 4.4) ** 0.5
    far = set_.step * width * pose
    cx = set_.path[0] * width + far * np.cos(set_.angle) - set_.step * width * 20 * np.cos(set_.angle)
    cy = set_.path[1] * height + far * 0.3 * np.sin(set_.angle)
    swing = 0.5 * np.sin(pose * 0.35 + set_.angle)
    dx, dy, turn = shift
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    ox, oy = cx - width / 2, cy - height / 2
    cx, cy = width / 2 + c * ox - s * oy + dx, height / 2 + s * ox + c * oy + dy
    left, right = int(max(cx - 2.4 * unit, 0)), int(min(cx + 2.4 * unit, width))
    top, bottom = int(max(cy - 2.4 * unit, 0)), int(min(cy + 2.6 * unit, height))
    if left >= right or top >= bottom:
        return
    y, x = np.mgrid[top:bottom, left:right].astype(np.float32)
    x, y = (x - cx) / unit, (y - cy) / unit
    part = frame[top:bottom, left:right]
    part *= (1 - 0.25 * np.exp(-((x / 1.2) ** 2 + ((y - 1.3) / 0.4) ** 2)))[..., None]
    edge = 1.5 / unit
    felt = 0.5 + 0.25 * np.sin(9 * x + 4 * y) * np.sin(7 * y) + 0.1 * np.sin(40 * x) * np.sin(43 * y)
    limbs = [
        (0, 0.1, 0.75, 1.1, 0, (0.5, 0.2, 0.15)),
        (0, -1.3, 0.5, 0.5, 0, (0.7, 0.55, 0.4)),
        (0.8, 0, 0.18, 0.8, swing - 0.5, (0.3, 0.35, 0.5)),
        (-0.8, 0, 0.18, 0.8, 0.5 - swing, (0.3, 0.35, 0.5)),
    ]
    for lx, ly, rx, ry, tilt, colour in limbs:
        u = (x - lx) * np.cos(tilt) + (y - ly) * np.sin(tilt)
        v = -(x - lx) * np.sin(tilt) + (y - ly) * np.cos(tilt)
        inside = np.clip((1 - np.hypot(u / rx, v / ry)) * min(rx, ry) / edge, 0, 1)[..., None]
        part += inside * (felt[..., None] * np.array(colour, np.float32) - part)


def put_hand(frame: np.ndarray, set_: Set, hand) -> tuple:
    """A skin-coloured finger `hand = (x, y, thickness)`, shares of the width, from an edge."""
    width, height = set_.size
    x0, y0, thick = hand[0] * width, hand[1] * height, hand[2] * width
    long = thick * 2.5
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    u, v = (x - x0) / (thick / 2), (y - y0) / (long / 2)
    inside = np.clip((1 - np.maximum(np.abs(u), np.abs(v))) * thick / 4, 0, 1)[..., None]
    tone = np.array((0.42, 0.24, 0.16), np.float32) * (0.8 + 0.3 * np.cos(u))[..., None]
    frame += inside * (tone - frame)
    return box_of(x0, y0, thick, long, set_.size)


def darken(frame: np.ndarray, set_: Set, shadow) -> tuple:
    """A soft shadow `shadow = (x, y, across, depth)`."""
    width, height = set_.size
    x0, y0, across, depth = shadow[0] * width, shadow[1] * height, shadow[2] * width, shadow[3]
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    far = np.hypot((x - x0) / (across / 2), (y - y0) / (across / 2))
    frame *= (1 - depth / (1 + np.exp((far - 1) * 12)))[..., None]
    return box_of(x0, y0, across, across, set_.size)


def box_of(x, y, across, down, size) -> tuple:
    return (max(x - across / 2, 0), max(y - down / 2, 0),
            min(x + across / 2, size[0]), min(y + down / 2, size[1]))


def puppet_box(set_: Set, index: int) -> tuple:
    width, height = set_.size
    unit = (set_.puppet * width * height / 4.4) ** 0.5
    cx = (set_.path[0] + set_.step * (index - 20) * np.cos(set_.angle)) * width
    cy = set_.path[1] * height + set_.step * width * index * 0.3 * np.sin(set_.angle)
    return (cx - 1.6 * unit, cy - 2.0 * unit, cx + 1.6 * unit, cy + 1.9 * unit)


def shot(set_: Set, count: int = 40, fault: Fault | None = None, at: int = 20):
    """Yield the stills of one shot, with one fault planted at picture `at`."""
    rng = np.random.default_rng((set_.seed, 99))
    spot = clear_spot(set_, at, rng, fault is not None and fault.kind == "hand over puppet")
    direction = rng.uniform(0, 6.28)
    for index in range(count):
        there = fault is not None and (index == at or (fault.stay and index >= at))
        yield still(set_, index, **(planted(fault, spot, direction, index, count) if there or (
            fault is not None and fault.kind == "drift") else {}))


def planted(fault: Fault, spot, direction, index: int, count: int) -> dict:
    amount = fault.strength
    match fault.kind:
        case "flicker":
            return {"gain": 1 + amount}
        case "lamp":
            return {"lamp": 1 + amount}
        case "colour":
            return {"red": 1 + amount}
        case "drift":
            return {"gain": 1 + amount * index / (count - 1)}
        case "bump":
            return {"shift": (amount * np.cos(direction), amount * np.sin(direction), 0)}
        case "turn":
            return {"shift": (0, 0, amount)}
        case "blur":
            return {"blur": amount}
        case "hand" | "hand over puppet":
            return {"hand": (*spot, amount)}
        case "shadow":
            return {"shadow": (*spot, 0.12, amount)}
    raise ValueError(f"No such fault: {fault.kind}")


def clear_spot(set_: Set, index: int, rng, over: bool) -> tuple[float, float]:
    """A place away from the puppet, or over it, in shares of width and height."""
    width, height = set_.size
    left, top, right, bottom = puppet_box(set_, index)
    for _ in range(500):
        x, y = rng.uniform(0.08, 0.92, 2)
        margin = 0.07 * width
        outside = not (left - margin < x * width < right + margin
                       and top - margin < y * height < bottom + margin)
        inside = (abs(x * width - (left + right) / 2) < (right - left) / 6
                  and abs(y * height - (top + bottom) / 2) < (bottom - top) / 4)
        if (inside if over else outside):
            break
    return x, y
