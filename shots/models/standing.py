"""Where a shot stands: what follows from its length, its status and its counts."""

from django.db import models

from shots.trade.budget import ShotLength


class Standing:
    """Shared by the model and by the rows that a page of many films reads without it."""

    class Status(models.TextChoices):
        TO_SHOOT = "to shoot", "to shoot"
        SHOOTING = "shooting", "shooting"
        SHOT = "shot", "shot"
        TO_RETAKE = "to retake", "to retake"
        APPROVED = "approved", "approved"
        CUT = "cut", "cut"

    LEFT = (Status.TO_SHOOT, Status.SHOOTING, Status.TO_RETAKE)
    DONE = (Status.SHOT, Status.APPROVED)

    @property
    def length(self) -> ShotLength:
        """How long it is and how it is shot, as the frame budget reads it."""
        return ShotLength(
            self.screen_frames,
            self.exposure,
            handles=self.handle_frames,
            held_frames=self.held_frames,
            holds=self.holds,
            reused_frames=self.reused_frames,
        )

    @property
    def budget(self) -> int:
        """Pictures this shot needs, by the frame-budget formula."""
        return self.length.pictures

    @property
    def kept(self) -> int:
        """Pictures in the film now. Wants `with_counts()`: a retake takes its pictures away."""
        return max(self.photographed - self.retaken_pictures, 0)

    @property
    def is_done(self) -> bool:
        return self.status in self.DONE

    @property
    def pictures_left(self) -> int:
        """Pictures still to take; none once the shot is done or cut. Wants `with_counts()`."""
        return max(self.budget - self.kept, 0) if self.status in self.LEFT else 0
