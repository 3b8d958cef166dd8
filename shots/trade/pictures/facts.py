"""What is known of a picture beside its pixels."""

from dataclasses import dataclass
from datetime import datetime, timedelta


@dataclass(frozen=True)
class Settings:
    """Camera settings as the camera wrote them; None where it wrote nothing usable.

    `iso` as a number, `shutter` in seconds, `aperture` as the f-number, `focal_length` in mm.
    """

    iso: float | None = None
    shutter: float | None = None
    aperture: float | None = None
    focal_length: float | None = None
    white_balance_auto: bool | None = None
    exposure_auto: bool | None = None


# The lock card names what must stay; only the fields it fills in are held against a picture.
LockCard = Settings


@dataclass(frozen=True)
class Facts:
    """Name, hash, full size in upright pixels, settings, and the camera's own clock."""

    name: str
    sha256: str
    width: int
    height: int
    settings: Settings = Settings()
    taken: datetime | None = None  # the camera's local time, without a zone
    utc_offset: timedelta | None = None
