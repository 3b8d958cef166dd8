"""A walk, step by step: where the feet are, and the arms opposite to the legs."""

from dataclasses import dataclass
from math import ceil, floor, isfinite

MOST_STEPS = 1000

# Five key poses a step, the last being the next step's first: common practice, no source.
KEY_POSES = (
    ("contact", 0.0),
    ("down", 0.25),
    ("passing", 0.5),
    ("up", 0.75),
    ("contact", 1.0),
)
BODY = {"contact": "level", "down": "lowest", "passing": "rising", "up": "highest", "": ""}


@dataclass(frozen=True)
class Walk:
    """A walk over `distance` mm in whole steps of at most `stride` mm, contact to contact.

    `pictures_a_step` are new pictures: the pose a step starts from belongs to the step before.
    `first_foot` ("left" or "right") is the one that swings in the first step.
    """

    distance: float
    stride: float
    pictures_a_step: int
    first_foot: str = "right"

    def __post_init__(self):
        for name in ("distance", "stride"):
            length = getattr(self, name)
            if not (isfinite(length) and length > 0):
                raise ValueError(f"The {name} of a walk must be above 0; got {length:g} mm.")
        if self.pictures_a_step < 1:
            raise ValueError(f"A step needs at least 1 new picture; got {self.pictures_a_step}.")
        if self.distance / self.stride > MOST_STEPS:
            raise ValueError(
                f"A walk has at most {MOST_STEPS:,} steps; {self.distance:g} mm in strides of "
                f"{self.stride:g} mm is more. Check the units."
            )
        if self.first_foot not in ("left", "right"):
            raise ValueError(f"A walk starts left or right; got {self.first_foot!r}.")

    @property
    def steps(self) -> int:
        return ceil(round(self.distance / self.stride, 6))

    @property
    def step_length(self) -> float:
        """mm per step: the stride, shortened evenly so that whole steps cover the distance."""
        return self.distance / self.steps

    @property
    def pictures(self) -> int:
        return self.steps * self.pictures_a_step


@dataclass(frozen=True)
class WalkPose:
    """The puppet at one picture of a walk.

    `picture` counts the walk's new pictures; 0 is the pose it starts from. `key` is the key pose,
    empty for an in-between; `height` says where the body is in its rise and fall. Feet and body
    are in mm from where the leading foot starts; an arm is 1 fully forward, -1 fully back.
    """

    step: int
    picture: int
    key: str
    height: str
    left_foot: float
    right_foot: float
    body: float
    left_arm: float
    right_arm: float


def walk_poses(walk: Walk) -> tuple[tuple[WalkPose, ...], ...]:
    """The poses of every step, both contacts included: a step's last is the next step's first.

    The walk is under way: it starts in a contact pose, and the body moves evenly. Key poses that
    would fall on the same picture (fewer than 4 a step) leave out up and down first.
    """
    keys = _keys(walk.pictures_a_step)
    return tuple(
        tuple(_pose(walk, step, picture, keys) for picture in range(walk.pictures_a_step + 1))
        for step in range(walk.steps)
    )


def _keys(pictures: int) -> dict[int, str]:
    keys = {0: "contact", pictures: "contact"}
    passing_first = sorted(KEY_POSES[1:-1], key=lambda pose: pose[0] != "passing")
    for name, share in passing_first:
        keys.setdefault(floor(share * pictures + 0.5), name)
    return keys


def _pose(walk: Walk, step: int, picture: int, keys: dict[int, str]) -> WalkPose:
    length = walk.step_length
    share = picture / walk.pictures_a_step
    planted = step * length
    swinging = planted + length * (2 * share - 1)
    body = planted + length * (share - 0.5)
    left_swings = (step % 2 == 0) == (walk.first_foot == "left")
    left, right = (swinging, planted) if left_swings else (planted, swinging)
    reach = length / 2
    return WalkPose(
        step=step + 1,
        picture=step * walk.pictures_a_step + picture,
        key=keys.get(picture, ""),
        height=BODY[keys.get(picture, "")],
        left_foot=left,
        right_foot=right,
        body=body,
        left_arm=(body - left) / reach,
        right_arm=(body - right) / reach,
    )
