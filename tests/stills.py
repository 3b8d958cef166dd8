"""Synthetic shots with known faults: stills of a textured puppet walking over a photograph.

`python -m tests.stills --clean 1000 --faults 6` prints what the picture check finds by strength,
its false alarms, the error of its shifts, and its speed beside a plain decode.

The photographs are those shipped inside the scikit-image package.
"""

import argparse
import io
import math
import multiprocessing
import os
import sys
import time
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import lru_cache
from pathlib import Path

import numpy as np
import skimage
from PIL import ExifTags, Image
from scipy import ndimage

from shots.reading import read_picture
from shots.trade.pictures import Measure, judge, measure

PHOTOGRAPHS = ("coffee.png", "ihc.png", "motorcycle_left.png", "rocket.jpg", "chelsea.png")
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
        self.weak_lamp = self.seed % len(self.lamps)  # left, middle or right


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


def still(
    set_: Set,
    index: int,
    *,
    gain=1.0,
    lamp=1.0,
    red=1.0,
    shift=(0, 0, 0),
    blur=0.0,
    hand=None,
    shadow=None,
    pose=None,
    name=None,
    number=None,
) -> Still:
    """Photograph the set once."""
    lit = sum(f * (lamp if n == set_.weak_lamp else 1) for n, f in enumerate(set_.lamps))
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
    offset = centre - matrix @ (centre + np.array([dy, dx]))
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
    cx = (
        set_.path[0] * width
        + far * np.cos(set_.angle)
        - set_.step * width * 20 * np.cos(set_.angle)
    )
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
    part = frame[top:bottom, left:right]
    x = (np.arange(left, right, dtype=np.float32) - float(cx)) / float(unit)
    y = (np.arange(top, bottom, dtype=np.float32)[:, None] - float(cy)) / float(unit)
    part *= (1 - 0.25 * np.exp(-((x / 1.2) ** 2)) * np.exp(-(((y - 1.3) / 0.4) ** 2)))[..., None]
    edge = 1.5 / float(unit)
    weave = 0.5 + 0.25 * np.sin(9 * x) * np.sin(7 * y) + 0.1 * np.sin(40 * x) * np.sin(43 * y)
    swing = float(swing)
    limbs = [
        (0, 0.1, 0.75, 1.1, 0, (0.5, 0.2, 0.15)),
        (0, -1.3, 0.5, 0.5, 0, (0.7, 0.55, 0.4)),
        (0.8, 0, 0.18, 0.8, swing - 0.5, (0.3, 0.35, 0.5)),
        (-0.8, 0, 0.18, 0.8, 0.5 - swing, (0.3, 0.35, 0.5)),
    ]
    for lx, ly, rx, ry, tilt, colour in limbs:
        reach = max(rx, ry)
        down = slice(*np.searchsorted(y[:, 0], (ly - reach, ly + reach)))
        across = slice(*np.searchsorted(x, (lx - reach, lx + reach)))
        c, s = math.cos(tilt), math.sin(tilt)
        u = (x[across] - lx) * c + (y[down] - ly) * s
        v = (y[down] - ly) * c - (x[across] - lx) * s
        inside = np.clip((1 - np.hypot(u / rx, v / ry)) * (min(rx, ry) / edge), 0, 1)[..., None]
        felt = weave[down, across, None] * np.array(colour, np.float32)
        part[down, across] += inside * (felt - part[down, across])


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
    return (
        max(x - across / 2, 0),
        max(y - down / 2, 0),
        min(x + across / 2, size[0]),
        min(y + down / 2, size[1]),
    )


def puppet_box(set_: Set, index: int) -> tuple:
    width, height = set_.size
    unit = (set_.puppet * width * height / 4.4) ** 0.5
    cx = (set_.path[0] + set_.step * (index - 20) * np.cos(set_.angle)) * width
    cy = set_.path[1] * height + set_.step * width * index * 0.3 * np.sin(set_.angle)
    return (cx - 1.6 * unit, cy - 2.0 * unit, cx + 1.6 * unit, cy + 1.9 * unit)


def shot(set_: Set, count: int = 40, fault: Fault | None = None) -> list[Still]:
    """The stills of one shot, with one fault planted at picture 20."""
    touched = shot_with(set_, count, fault) if fault else [None] * count
    return [one or still(set_, index) for index, one in enumerate(touched)]


def shot_with(set_: Set, count: int, fault: Fault, at: int = 20) -> list[Still | None]:
    """Only the stills a fault changes; None for the others."""
    rng = np.random.default_rng((set_.seed, 99))
    spot = clear_spot(set_, at, rng, fault.kind == "hand over puppet")
    direction = rng.uniform(0, 6.28)
    return [
        still(set_, n, **planted(fault, spot, direction, n, count))
        if n == at or (fault.stay and n >= at) or fault.kind == "drift"
        else None
        for n in range(count)
    ]


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
        outside = not (
            left - margin < x * width < right + margin
            and top - margin < y * height < bottom + margin
        )
        inside = (
            abs(x * width - (left + right) / 2) < (right - left) / 6
            and abs(y * height - (top + bottom) / 2) < (bottom - top) / 4
        )
        if inside if over else outside:
            break
    return x, y


# The table

PLANTED = [
    Fault("flicker", 0.005),
    Fault("flicker", 0.0075),
    Fault("flicker", 0.01),
    Fault("flicker", 0.01, stay=True),
    Fault("lamp", 0.01),
    Fault("lamp", 0.02),
    Fault("colour", 0.01),
    Fault("bump", 0.25),
    Fault("bump", 0.5),
    Fault("bump", 0.5, stay=True),
    Fault("bump", 1.5),
    Fault("turn", 0.06),
    Fault("blur", 0.8),
    Fault("blur", 1.2),
    Fault("drift", 0.03),
    Fault("hand", 0.025),
    Fault("hand", 0.05),
    Fault("hand over puppet", 0.05),
    Fault("shadow", 0.08),
    Fault("shadow", 0.15),
]
SEEN_AS = {
    "flicker": "flicker",
    "lamp": "flicker",
    "colour": "colour",
    "bump": "bump",
    "turn": "bump",
    "blur": "focus",
    "drift": "drift",
    "hand": "intruder",
    "hand over puppet": "intruder",
    "shadow": "intruder",
}


def random_set(seed: int, sizes: tuple[str, ...] = ("720p", "1080p")) -> Set:
    """A set as the targets describe it: puppet 3 to 25 % of the frame, JPEG 85 to 95."""
    rng = np.random.default_rng(seed + 1000)
    return Set(
        SIZES[sizes[seed % len(sizes)]],
        seed,
        puppet=float(rng.uniform(0.03, 0.25)),
        step=float(rng.uniform(0.001, 0.006)),
        quality=int(rng.integers(85, 96)),
        noise=float(rng.uniform(0.5, 2)),
    )


def measured(one: Still) -> Measure:
    reading = read_picture(io.BytesIO(one.data), one.name)
    return measure(reading.pixels, reading.facts)


def faults_in(report: dict) -> list[tuple[int, dict]]:
    return [
        (n, flag)
        for n, frame in enumerate(report["frames"])
        for flag in frame["flags"]
        if flag.get("level") != "info"
    ]


def overlap(one, other) -> float:
    """Intersection over union of two boxes."""
    across = min(one[2], other[2]) - max(one[0], other[0])
    down = min(one[3], other[3]) - max(one[1], other[1])
    if across <= 0 or down <= 0:
        return 0.0
    area = lambda b: (b[2] - b[0]) * (b[3] - b[1])  # noqa: E731
    return across * down / (area(one) + area(other) - across * down)


@dataclass(frozen=True)
class Outcome:
    """What became of one planted fault: `note` is the error of a bump's size or the overlap of
    a box."""

    fault: Fault
    found: bool
    note: float | None = None


def run(job: tuple[int, tuple[str, ...], bool]) -> tuple[list, list[float], list[Outcome]]:
    """One shot, clean and then with each fault in turn: false alarms, shift errors, outcomes.

    Pictures a fault leaves alone are photographed and measured once."""
    seed, sizes, with_faults = job
    set_ = random_set(seed, sizes)
    clean = [measured(one) for one in shot(set_)]
    report = judge(clean).to_json()
    places = np.array([(f["measure"]["dx"], f["measure"]["dy"]) for f in report["frames"]])
    errors = np.hypot(*np.diff(places, axis=0).T).tolist()
    alarms = [(seed, *alarm) for alarm in faults_in(report)]
    outcomes = [outcome(set_, clean, fault) for fault in PLANTED] if with_faults else []
    return alarms, errors, outcomes


def outcome(set_: Set, clean: list[Measure], fault: Fault) -> Outcome:
    stills = shot_with(set_, len(clean), fault)
    measures = [
        measured(one) if one else picture for one, picture in zip(stills, clean, strict=True)
    ]
    found = [
        (n, flag)
        for n, flag in faults_in(judge(measures).to_json())
        if flag["kind"] == SEEN_AS[fault.kind]
    ]
    if fault.kind == "drift":
        return Outcome(fault, bool(found))
    here = [flag for n, flag in found if n == 20]
    if not here:
        return Outcome(fault, False)
    if fault.kind == "bump":
        return Outcome(fault, True, abs(here[0]["size"] - fault.strength))
    box = stills[20].box
    if box:
        best = max(overlap(box, flag["box"]) for flag in here)
        return Outcome(fault, best >= 0.2, best)
    return Outcome(fault, True)


def speed(size: str, count: int = 10) -> float:
    """Processor time of the whole check over a plain full decode of the same pictures."""
    stills = shot(random_set(1, (size,)), count)

    def plain():
        for one in stills:
            Image.open(io.BytesIO(one.data)).load()

    def whole():
        judge([measured(one) for one in stills])

    best = {}
    for _ in range(4):  # the two take turns, so a busy machine slows both
        for work in (plain, whole):
            start = time.process_time()
            work()
            best[work] = min(best.get(work, 1e9), time.process_time() - start)
    return best[whole] / best[plain]


def line(outcomes: list[Outcome]) -> str:
    fault = outcomes[0].fault
    notes = [o.note for o in outcomes if o.note is not None]
    note = ""
    if notes and fault.kind == "bump":
        note = f"worst size error {max(notes):.3f} px"
    elif notes:
        note = f"median overlap {np.median(notes):.2f}"
    found = sum(o.found for o in outcomes)
    mode = "stay" if fault.stay else "once"
    return f"{fault.kind:17} {fault.strength:<7} {mode}  {found:3} of {len(outcomes):3}   {note}"


def main(arguments: list[str]) -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.stills", description=__doc__)
    parser.add_argument("--clean", type=int, default=1000, help="clean pictures")
    parser.add_argument("--faults", type=int, default=6, help="shots per planted fault")
    parser.add_argument("--sizes", default="720p,1080p", help="of 720p, 1080p, 12MP")
    parser.add_argument("--first-seed", type=int, default=0)
    parser.add_argument("--speed", action="store_true", help="compare with a plain decode")
    options = parser.parse_args(arguments)
    sizes = tuple(options.sizes.split(","))
    out = sys.stdout
    first = options.first_seed
    shots = max(-(-options.clean // 40), options.faults)
    jobs = [(first + n, sizes, n < options.faults) for n in range(shots)]
    with multiprocessing.get_context("spawn").Pool(2) as pool:
        runs = pool.map(run, jobs, 1)
        ratios = pool.map(speed, SIZES, 1) if options.speed else []
    alarms = [alarm for run_ in runs for alarm in run_[0]]
    errors = np.concatenate([run_[1] for run_ in runs])
    out.write(f"clean: {len(alarms)} false alarms on {40 * shots} pictures\n")
    for seed, n, flag in alarms:
        out.write(f"  shot {seed}, picture {n}: {flag}\n")
    out.write(
        f"shift, picture to picture: median {np.median(errors):.4f} px, "
        f"95 % {np.percentile(errors, 95):.4f} px\n"
    )
    for fault in PLANTED if options.faults else []:
        out.write(line([o for run_ in runs for o in run_[2] if o.fault == fault]) + "\n")
    for size, ratio in zip(SIZES, ratios, strict=False):
        out.write(f"speed at {size}: {ratio:.2f} of a plain full decode\n")


if __name__ == "__main__":
    for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ.setdefault(threads, "1")
    main(sys.argv[1:])
