"""The frame budget: how many pictures a shot needs.

A frame is one frame of the finished film; a picture is one photograph taken. On ones every frame
is a picture, on twos every picture stands for two frames. A hold costs one picture however long it
lasts, and reused frames cost none because their pictures exist already.
"""

from dataclasses import dataclass, fields


class BudgetError(ValueError):
    """A shot that cannot be as described: `field` names the entry, `sentence` mends it."""

    def __init__(self, field: str, sentence: str):
        super().__init__(sentence)
        self.field = field
        self.sentence = sentence


@dataclass(frozen=True)
class ShotLength:
    """The length of one shot, in frames, and how it is shot.

    `exposure` is frames each picture is held for. `handles` are extra frames for the edit, both
    ends together. `held_frames` is the sum over all `holds`.
    Raises BudgetError for a length that contradicts itself.
    """

    screen_frames: int
    exposure: int
    handles: int = 0
    held_frames: int = 0
    holds: int = 0
    reused_frames: int = 0

    def __post_init__(self):
        for entry in fields(self):
            _check_count(entry.name, getattr(self, entry.name))
        if self.exposure < 1:
            raise BudgetError(
                "exposure",
                f"Exposure is {self.exposure}; each picture is held for at least 1 frame: "
                "enter 1 for ones, 2 for twos.",
            )
        self._check_holds()
        spare = self.held_frames + self.reused_frames - self.screen_frames - self.handles
        if spare > 0:
            field = "held_frames" if self.held_frames >= self.reused_frames else "reused_frames"
            raise BudgetError(
                field,
                f"{self.held_frames} held and {self.reused_frames} reused frames are {spare} more "
                f"than the {self.screen_frames + self.handles} frames in shot and handles: "
                "lower them or lengthen the shot.",
            )

    def _check_holds(self):
        if self.held_frames and not self.holds:
            raise BudgetError(
                "holds",
                f"{self.held_frames} held frames need at least 1 hold: "
                "enter how many holds there are, or no held frames.",
            )
        if self.holds > self.held_frames:
            raise BudgetError(
                "held_frames",
                f"{self.holds} holds need at least {self.holds} held frames, "
                f"got {self.held_frames}: enter the frames held, or fewer holds.",
            )

    @property
    def pictures(self) -> int:
        """Pictures to take: ceil((F + A - H - U) / e) + k."""
        moving = self.screen_frames + self.handles - self.held_frames - self.reused_frames
        return -(-moving // self.exposure) + self.holds


def pictures_needed(
    screen_frames: int,
    exposure: int,
    handles: int = 0,
    held_frames: int = 0,
    holds: int = 0,
    reused_frames: int = 0,
) -> int:
    """Pictures a shot needs: ceil((F + A - H - U) / e) + k. Raises BudgetError; see ShotLength."""
    return ShotLength(screen_frames, exposure, handles, held_frames, holds, reused_frames).pictures


def _check_count(field: str, value: int):
    if not isinstance(value, int) or value < 0:
        name = field.replace("_", " ").capitalize()
        raise BudgetError(field, f"{name} is {value}; enter a whole number, 0 or more.")
