"""The measures of one shot, judged in order."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .clock import missing_numbers, session
from .compare import Compared, compare
from .duplicates import duplicate_flags
from .facts import LockCard
from .flags import blank_flags, camera_flags, focus_flags, intruder_flags, light_flags
from .measure import Measure
from .settings import changed_settings

MOVING_SHARE = 0.02  # of the frame; over a moving area that large no intruder can be told


@dataclass(frozen=True)
class Declared:
    """What the shot is meant to do, and so is no fault."""

    camera_move: bool = False
    light_change: bool = False


@dataclass(frozen=True)
class Judged:
    """One picture in the report. `measure` values are None where they could not be measured;
    `not_measurable` says what could not be judged, in words."""

    file: str
    flags: list[dict]
    measure: dict
    not_measurable: list[str]

    @property
    def flagged(self) -> bool:
        return any(flag.get("level") != "info" for flag in self.flags)


@dataclass(frozen=True)
class Report:
    frames: list[Judged]
    missing: list[int]
    session: dict | None

    @property
    def flagged(self) -> bool:
        return bool(self.missing) or any(frame.flagged for frame in self.frames)

    def to_json(self) -> dict:
        return {
            "frames": [
                {
                    "file": f.file,
                    "flags": f.flags,
                    "measure": f.measure,
                    "not_measurable": f.not_measurable,
                }
                for f in self.frames
            ],
            "missing": self.missing,
            "session": self.session,
        }


def judge(
    measures: Sequence[Measure],
    declared: Declared | None = None,
    lock: LockCard | None = None,
    unread: Sequence[str] = (),
) -> Report:
    """Judge the pictures of one shot, in order. Any number of them, in any mixture of sizes.

    `unread` names files that are there but could not be read: their numbers are not missing.
    """
    declared = declared or Declared()
    facts = [m.facts for m in measures]
    flags = changed_settings([f.settings for f in facts], lock)
    compared = [Compared() for _ in measures]
    words: list[list[str]] = [[] for _ in measures]
    by_size: dict[tuple[int, int], list[int]] = {}
    for n, picture in enumerate(facts):
        by_size.setdefault((picture.width, picture.height), []).append(n)
    most = max(by_size.values(), key=len, default=[])
    for size, places in by_size.items():
        run = compare([measures[n] for n in places])
        for n, found, one in zip(places, _run_flags(run, size, declared), run, strict=True):
            flags[n] += found
            compared[n] = one
            words[n] += _not_measurable(one)
        if places is not most:
            for n in places:
                words[n].append(f"{size[0]} × {size[1]}, unlike most of the shot: judged apart")
    for n, found in enumerate(duplicate_flags(facts, [c.still for c in compared])):
        flags[n] += found
    return Report(
        frames=[
            Judged(facts[n].name, flags[n], _measure(compared[n]), words[n])
            for n in range(len(facts))
        ],
        missing=missing_numbers([*(f.name for f in facts), *unread]),
        session=session(facts),
    )


def _run_flags(run: list[Compared], size: tuple[int, int], declared: Declared) -> list[list[dict]]:
    """Flags of pictures of one size. Light, camera and focus are judged scene by scene."""
    flags: list[list[dict]] = [[] for _ in run]
    if not declared.light_change:
        blank_flags(run, flags)
    seen = [n for n, c in enumerate(run) if not c.blank]
    starts = [0] + [at for at, n in enumerate(seen) if run[n].new_scene] + [len(seen)]
    for start, end in itertools.pairwise(starts):
        scene = [run[n] for n in seen[start:end]]
        its_flags = [flags[n] for n in seen[start:end]]
        if not declared.camera_move:
            camera_flags(scene, size, its_flags)
        focus_flags(scene, its_flags)
        if not declared.light_change:
            light_flags(scene, size, its_flags)
        intruder_flags(scene, its_flags)
    return flags


def _not_measurable(one: Compared) -> list[str]:
    if one.blank:
        return ["blank: one tone all over; only how bright it is can be told"]
    words = []
    if one.new_scene:
        words.append("nothing in common with the picture before: a new set or a new view")
    if np.isinf(one.pose.doubt):
        words.append("camera: too little structure to hold on to")
    if one.gain is None:
        words.append("light: too few quiet, well exposed tiles")
    elif one.rb is None:
        words.append("colour: too few quiet, well exposed tiles")
    if one.sharp is None:
        words.append("focus: no fine detail in the quiet tiles")
    if one.moving > MOVING_SHARE:
        words.append("intruder: not over what moves")
    if one.alone:
        words.append("intruder: no picture on one side to compare with")
    return words


def _measure(one: Compared) -> dict:
    def rounded(value, digits):
        return None if value is None else round(float(value), digits)

    pose = one.pose if np.isfinite(one.pose.doubt) else None
    return {
        "gain": rounded(None if one.gain is None else np.exp(one.gain), 5),
        "rb": rounded(None if one.rb is None else np.exp(one.rb), 5),
        "dx": rounded(pose and pose.dx, 4),
        "dy": rounded(pose and pose.dy, 4),
        "rot": rounded(pose and np.degrees(pose.turn), 5),
        "sharp": rounded(one.sharp, 4),
    }
