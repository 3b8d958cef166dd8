"""From comparisons to flags: what stands out of a scene, and by how much."""

import numpy as np

from .compare import Compared
from .register import rms_motion
from .series import departures, drift

FLICKER = 0.0047  # share of linear light
COLOUR = 0.006  # red against blue
LAMP = 0.0016  # contrast over the frame, smoothed; one lamp of several by 1 % makes 0.2 to 0.5 %
LAMP_NOISES = 4.3  # the contrast's restlessness is never nought, so it counts for less
# Natural log of light: the means of two whole pictures, puppet and all, differ a little.
BLANK = 0.1
DRIFT = 0.02
FAR_BUMP = 0.005  # of the width; so far from its place a picture's light is told less well
FAR_TIMES = 4.0
BUMP = 0.4  # native pixels, root mean square over the frame
BUMP_DOUBTS = 8.0  # times the standard error of the pictures compared
CREEP = 2.0  # native pixels over the shot
FOCUS = 0.05  # of the fine detail's amplitude

Flags = list[list[dict]]


def light_flags(scene: list[Compared], size: tuple[int, int], flags: Flags) -> None:
    """Flicker, one lamp, colour and drift, added to each picture's flags. `size` in native pixels.

    Camera and focus are to be flagged before: a bump or a blur shades the frame unevenly by itself,
    and is not taken for a lamp."""
    unsteady = {n + k for n, its in enumerate(flags) for k in (0, 1) if _camera_fault(its)}
    far = {n for n, its in enumerate(flags) if _bump(its) > FAR_BUMP * size[0]}
    lamps = {n: change for n, change in _lamps(scene).items() if n not in unsteady}
    for n, change in lamps.items():
        flags[n].append({"kind": "flicker", "change": _share(change), "mode": "lamp"})
    for kind, of, threshold, readings in (
        ("flicker", "light", FLICKER, [c.gain for c in scene]),
        ("colour", "colour", COLOUR, [c.rb for c in scene]),
    ):
        values, at = _known(readings)
        steps, smooth = departures(values[:, None], threshold, _length)
        for step in steps:
            n, change = at[step.index], step.change[0]
            told = kind == "flicker" and n in lamps
            if not told and (n not in far or abs(change) > FAR_TIMES * threshold):
                flags[n].append({"kind": kind, "change": _share(change), "mode": step.mode})
        _add_drift(smooth[:, 0], at, flags, of)


def blank_flags(run: list[Compared], flags: Flags) -> None:
    """A blank picture in a shot that is not blank: far darker or brighter than the others."""
    for n, one in enumerate(run):
        if one.blank and one.gain is not None and abs(one.gain) > BLANK:
            flags[n].append({"kind": "flicker", "change": _share(one.gain), "mode": "once"})


def camera_flags(scene: list[Compared], size: tuple[int, int], flags: Flags) -> None:
    """Bumps, and the slow creep of a camera that is not well fastened. `size` in native pixels."""
    poses = np.array([c.pose.vector()[:3] for c in scene])
    steps, smooth = departures(poses, BUMP, lambda change: rms_motion(change, size))
    doubts = [c.pose.doubt for c in scene]
    for step in steps:
        doubt = max(doubts[step.index - 1 : step.index + 1])
        if rms_motion(step.change, size) > BUMP_DOUBTS * doubt:
            flag = {"kind": "bump", **_pose(step.change, size), "mode": step.mode}
            flags[step.index].append(flag)
    lengths = rms_motion(smooth - smooth[0], size)
    creep = drift(lengths, CREEP)
    if creep:
        first, _ = creep
        farthest = smooth[np.argmax(lengths)] - smooth[0]
        flags[first].append({"kind": "creep", **_pose(farthest, size), "level": "info"})


def focus_flags(scene: list[Compared], flags: Flags) -> None:
    sharps, at = _known([c.sharp for c in scene])
    steps, _ = departures(np.log(sharps)[:, None], FOCUS, _length)
    for step in steps:
        # Focus returning is no fault: only a loss is, or a change that stays.
        if step.change[0] < 0 or step.mode == "stay":
            change = _share(step.change[0])
            flags[at[step.index]].append({"kind": "focus", "change": change, "mode": step.mode})


def intruder_flags(scene: list[Compared], flags: Flags) -> None:
    for n, c in enumerate(scene):
        for box in c.intruders:
            flags[n].append({"kind": "intruder", "box": box, "why": "object"})
        for box in c.shadows:
            flags[n].append({"kind": "intruder", "box": box, "why": "shadow"})


def _lamps(scene: list[Compared]) -> dict[int, float]:
    """Pictures in which part of the frame changed its light against the rest, and by how much."""
    known = [n for n, c in enumerate(scene) if c.surface is not None]
    steps, _ = departures(np.array([scene[n].surface for n in known]), LAMP, _contrast, LAMP_NOISES)
    return {
        known[step.index]: float(_contrast(step.change) * np.sign(step.change.mean()))
        for step in steps
    }


def _contrast(change: np.ndarray) -> np.ndarray:
    """Between the places that gained most and least."""
    return np.ptp(change, axis=-1)


def _camera_fault(flags: list[dict]) -> bool:
    return any(flag["kind"] in ("bump", "focus") for flag in flags)


def _bump(flags: list[dict]) -> float:
    return max((flag["size"] for flag in flags if flag["kind"] == "bump"), default=0.0)


def _add_drift(values: np.ndarray, at: list[int], flags: Flags, of: str) -> None:
    found = drift(values, DRIFT)
    if found:
        first, change = found
        flags[at[first]].append({"kind": "drift", "change": _share(change), "of": of})


def _known(values: list[float | None]) -> tuple[np.ndarray, list[int]]:
    """The values there are, and whose they are."""
    at = [n for n, value in enumerate(values) if value is not None]
    return np.array([values[n] for n in at]), at


def _length(change: np.ndarray) -> np.ndarray:
    return abs(change[..., 0])


def _share(logarithm: float) -> float:
    return round(float(np.expm1(logarithm)), 4)


def _pose(change: np.ndarray, size: tuple[int, int]) -> dict:
    return {
        "dx": round(float(change[0]), 3),
        "dy": round(float(change[1]), 3),
        "rot": round(float(np.degrees(change[2])), 4),
        "size": round(float(rms_motion(change, size)), 3),
    }
