"""Each picture of a run compared with a key picture, and watched in a window of three.

The key picture is the run's first; where too little of it is left to see, the picture before takes
its place. So a slow creep is seen, and a bump that returns is told from one that stays.
"""

from collections import deque
from dataclasses import dataclass, field

import numpy as np

from . import intruder
from .focus import compare_focus
from .light import PLACES, compare_light
from .measure import Measure, Planes
from .register import (
    LEAST_SHARE,
    Frame,
    Pose,
    is_blank,
    prepare,
    quiet_tiles,
    register,
    rms_motion,
)

KEY_SHARE = 0.45  # of the patches must still agree with the key picture
KEY_REACH = 0.1  # of the width; further away the key picture no longer overlaps well


@dataclass
class Compared:
    """One picture against the first of its scene. Light as natural logarithms; None where it could
    not be measured."""

    pose: Pose = field(default_factory=Pose)
    gain: float | None = 0.0
    rb: float | None = 0.0
    surface: np.ndarray | None = field(default_factory=lambda: np.zeros(PLACES[0] * PLACES[1]))
    sharp: float | None = 1.0
    new_scene: bool = False
    blank: bool = False  # one tone all over, unlike the others; `gain` is of the whole picture
    alone: bool = False  # no picture of its scene on one side
    still: bool = False  # nothing moved since the picture before
    moving: float = 0.0  # share of the frame that moved since the picture before
    intruders: list[list[int]] = field(default_factory=list)
    shadows: list[list[int]] = field(default_factory=list)


@dataclass(frozen=True)
class _Key:
    """The picture the others are compared with, and where it stands itself."""

    frame: Frame
    planes: Planes
    at: Compared


def compare(measures: list[Measure]) -> list[Compared]:
    """Compare pictures of one size, holding only a few unpacked at a time."""
    run: list[Compared] = []
    watch = _Watch()
    key = before = None
    for picture in measures:
        size = (picture.facts.width, picture.facts.height)
        planes = picture.planes()
        frame = prepare(planes.grey, size)
        if key is None:
            found = Compared()
            key = _Key(frame, planes, found)
        else:
            found, key = _against(key, before, frame, planes)
        if not found.blank:
            before = _Key(frame, planes, found)
        run.append(found)
        watch.see(found, planes, size)
    watch.finish(run)
    for n, found in enumerate(run):
        follows = n > 0 and not found.new_scene and not run[n - 1].blank
        leads = n + 1 < len(run) and not run[n + 1].new_scene and not run[n + 1].blank
        found.alone = not (follows and leads)
    return run


def _against(key: _Key, before: _Key, frame: Frame, planes: Planes) -> tuple[Compared, _Key]:
    guess = Pose(*(before.at.pose.vector() - key.at.pose.vector()))
    pose = register(key.frame, frame, guess)
    far = rms_motion(pose.vector(), frame.size) > KEY_REACH * frame.size[0]
    if (pose.share < KEY_SHARE or far) and before.frame is not key.frame:
        step = register(before.frame, frame)
        if step.share > pose.share or far:
            key, pose = before, step
    if pose.share < LEAST_SHARE:
        if is_blank(frame):
            return _blank(key, planes), key
        found = Compared(new_scene=True)
        return found, _Key(frame, planes, found)
    quiet = quiet_tiles(key.frame, frame, pose)
    light = compare_light(key.planes.light, planes.light, quiet, pose, frame.size)
    sharp = compare_focus(key.planes, planes, quiet, light.gain)
    found = Compared(
        pose=Pose(*(key.at.pose.vector() + pose.vector()), pose.share, pose.doubt),
        gain=_plus(key.at.gain, light.gain),
        rb=_plus(key.at.rb, light.rb),
        surface=_plus(key.at.surface, light.surface),
        sharp=None if sharp is None or key.at.sharp is None else key.at.sharp * sharp,
    )
    return found, key


def _blank(key: _Key, planes: Planes) -> Compared:
    """A picture in which a lamp failed, or a flash hit: only its light can be told."""
    gain = None
    if key.at.gain is not None:
        whole, of_key = (np.log(np.exp(p.light[..., 1]).mean()) for p in (planes, key.planes))
        gain = key.at.gain + float(whole - of_key)
    nowhere = Pose(share=0, doubt=np.inf)
    return Compared(pose=nowhere, gain=gain, rb=None, surface=None, sharp=None, blank=True)


def _plus(one, other):
    return None if one is None or other is None else one + other


class _Watch:
    """Looks for intruders and holds through a window of three pictures."""

    def __init__(self):
        self.views: deque[intruder.View] = deque(maxlen=3)
        self.steps: deque[tuple] = deque(maxlen=2)  # differences between neighbours
        self.moved: list[bytes] = []  # packed masks, one per picture, against the one before
        self.regions: list[list[intruder.Region]] = []
        self.shape = self.size = None

    def see(self, found: Compared, planes: Planes, size: tuple[int, int]) -> None:
        if found.new_scene or found.blank:
            self.views.clear()
            self.steps.clear()
        self.shape, self.size = planes.grey.shape, size
        if not found.blank:
            view = intruder.view(planes, found.pose, found.gain or 0, found.rb or 0, size)
            self.views.append(view)
        self.regions.append([])
        if len(self.views) < 2:
            self.moved.append(b"")
            return
        step = intruder.difference(self.views[-2], self.views[-1])
        moved = intruder.moved_samples(step[0])
        found.moving = float(moved.mean())
        found.still = not moved.any()
        self.moved.append(np.packbits(moved).tobytes())
        self.steps.append(step)
        if len(self.views) == 3:
            before = tuple(-plane for plane in self.steps[0])
            between = tuple(
                first + second for first, second in zip(self.steps[0], self.steps[1], strict=True)
            )
            self.regions[-2] = intruder.new_regions(
                before, self.steps[1], between, self.views[1].grey
            )

    def finish(self, run: list[Compared]) -> None:
        for n, regions in enumerate(self.regions):
            if regions:
                moving = self._moving(n)
                self.regions[n] = [intruder.with_moving(r, moving) for r in regions]
        for found, regions in zip(run, intruder.intruders(self.regions), strict=True):
            for region in intruder.joined(regions):
                box = intruder.native_box(region, self.shape, self.size)
                (found.intruders if region.why == "object" else found.shadows).append(box)

    def _moving(self, n: int) -> np.ndarray:
        """Where anything moved near picture `n`, its own coming and going left out."""
        moving = np.zeros(self.shape[0] * self.shape[1], bool)
        for k in range(max(n - intruder.NEAR, 0), min(n + intruder.NEAR + 1, len(self.moved))):
            if k not in (n, n + 1) and self.moved[k]:
                bits = np.unpackbits(np.frombuffer(self.moved[k], np.uint8))
                moving |= bits[: moving.size].astype(bool)
        return moving.reshape(self.shape)
