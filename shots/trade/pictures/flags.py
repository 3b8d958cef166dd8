"""From comparisons to flags: what stands out of a scene, and by how much."""

import numpy as np

from .compare import Compared
from .register import rms_motion
from .series import departures, drift

FLICKER = 0.005  # share of linear light
COLOUR = 0.006  # red against blue
LAMP = 0.0045  # of a region against the others
LAMP_REGIONS = 3  # of 12 must change together; a puppet's shading fills fewer
DRIFT = 0.02
BUMP = 0.3  # native pixels, root mean square over the frame
CREEP = 2.0  # native pixels over the shot
FOCUS = 0.05  # of the fine detail's amplitude

Flags = list[list[dict]]


def light_flags(scene: list[Compared], flags: Flags) -> None:
    """Flicker, one lamp, colour and drift, added to each picture's flags."""
    lamps = _lamps(scene)
    gains, at = _known([c.gain for c in scene])
    steps, smooth = departures(gains[:, None], FLICKER, _length)
    for step in steps:
        if at[step.index] not in lamps:
            change = _share(step.change[0])
            flags[at[step.index]].append({"kind": "flicker", "change": change, "mode": step.mode})
    for n, change in lamps.items():
        flags[n].append({"kind": "flicker", "change": _share(change), "mode": "lamp"})
    _add_drift(smooth[:, 0], at, flags, "light")

    balances, at = _known([c.rb for c in scene])
    steps, smooth = departures(balances[:, None], COLOUR, _length)
    for step in steps:
        change = _share(step.change[0])
        flags[at[step.index]].append({"kind": "colour", "change": change, "mode": step.mode})
    _add_drift(smooth[:, 0], at, flags, "colour")


def camera_flags(scene: list[Compared], size: tuple[int, int], flags: Flags) -> None:
    """Bumps, and the slow creep of a camera that is not well fastened. `size` in native pixels."""
    poses = np.array([c.pose.vector()[:3] for c in scene])
    steps, smooth = departures(poses, BUMP, lambda change: rms_motion(change, size))
    for step in steps:
        flags[step.index].append({"kind": "bump", **_pose(step.change, size), "mode": step.mode})
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
    known = [n for n, c in enumerate(scene) if c.regions is not None]
    if len(known) < 2:
        return {}
    regions = np.array([scene[n].regions for n in known])
    regions = regions[:, ~np.isnan(regions).any(0)]
    if regions.shape[1] < 2 * LAMP_REGIONS:
        return {}

    def contrast(change: np.ndarray) -> np.ndarray:
        """Between the regions that gained and those that lost, the few extreme ones left out."""
        order = np.sort(change, axis=-1)
        return order[..., -LAMP_REGIONS] - order[..., LAMP_REGIONS - 1]

    steps, _ = departures(regions, LAMP, contrast)
    found = {}
    for step in steps:
        brighter = step.change.mean() > np.median(step.change)
        found[known[step.index]] = float(contrast(step.change)) * (1 if brighter else -1)
    return found


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
