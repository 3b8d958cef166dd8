"""The items of a specification as frozen dataclasses, and as plain JSON values."""

from dataclasses import dataclass, fields, is_dataclass
from fractions import Fraction

# The order in which results are listed.
CHECKS = (
    "container", "video_codec", "width", "height", "pixel_aspect", "scan", "frame_rate",
    "constant_rate", "frame_count", "duration", "bit_depth", "chroma", "colour_primaries",
    "colour_transfer", "colour_matrix", "colour_range", "size", "name", "black", "freeze",
    "cadence", "audio", "audio_codec", "sample_rate", "channels", "loudness", "true_peak",
    "captions", "flash",
)  # fmt: skip


class SpecificationRefused(ValueError):
    """A specification with an unknown name or an impossible value, as a sentence."""


@dataclass(frozen=True)
class Codec:
    name: str
    profile: str | None = None


class Aspect(Fraction):
    """Width of a pixel over its height, written 1:1."""

    def __str__(self) -> str:
        return f"{self.numerator}:{self.denominator}"


@dataclass(frozen=True)
class FrameCount:
    frames: int
    tolerance: int = 0


@dataclass(frozen=True)
class Duration:
    """Tolerance None: half a frame, the nearest that a whole number of frames can come."""

    seconds: Fraction
    tolerance: Fraction | None = None


@dataclass(frozen=True)
class Black:
    """The most black frames allowed at the head, in one piece inside, and at the tail."""

    head: int = 0
    inside: int = 0
    tail: int = 0


@dataclass(frozen=True)
class Freeze:
    """The most frames one picture may stay. None: as many as fit in one second."""

    longest: int | None = None


@dataclass(frozen=True)
class CadenceWanted:
    """Delivered frames per picture: 2 for twelve pictures a second delivered at 24."""

    exposure: int


@dataclass(frozen=True)
class Loudness:
    """LUFS, and LU to either side."""

    target: float
    tolerance: float = 0.5


@dataclass(frozen=True)
class CaptionsWanted:
    """``kind`` is srt, webvtt or any. ``file`` is a name beside the film; empty: the film's own
    name with the captions' extension."""

    kind: str = "any"
    file: str = ""


@dataclass(frozen=True)
class FlashLimit:
    """The most flashes in any second (WCAG 2.2 SC 2.3.1 allows three)."""

    general: int = 3
    red: int = 3


@dataclass(frozen=True)
class Specification:
    """Fields carry the names of the checks; ``stills`` asks for still frames beside the film
    (a poster), which a person ticks off."""

    title: str = ""
    container: str | None = None
    video_codec: Codec | None = None
    width: int | None = None
    height: int | None = None
    pixel_aspect: Aspect | None = None
    scan: str | None = None
    frame_rate: Fraction | None = None
    constant_rate: bool | None = None
    frame_count: FrameCount | None = None
    duration: Duration | FrameCount | None = None
    bit_depth: int | None = None
    chroma: str | None = None
    colour_primaries: int | None = None
    colour_transfer: int | None = None
    colour_matrix: int | None = None
    colour_range: str | None = None
    size: int | None = None
    name: str | None = None
    black: Black | None = None
    freeze: Freeze | None = None
    cadence: CadenceWanted | None = None
    audio: str | None = None
    audio_codec: str | None = None
    sample_rate: int | None = None
    channels: int | None = None
    loudness: Loudness | None = None
    true_peak: float | None = None
    captions: CaptionsWanted | None = None
    flash: FlashLimit | None = None
    stills: int | None = None

    def wants(self, *checks: str) -> bool:
        """True when any of the named checks is asked for."""
        return any(getattr(self, check) is not None for check in checks)


def to_json(specification: Specification) -> dict:
    """The items that are set, as plain JSON values that ``from_json`` reads back."""
    items = {}
    for field in fields(specification):
        value = getattr(specification, field.name)
        if value is not None and value != "":
            items[field.name] = plain(value)
    return items


def plain(value: object) -> object:
    """One value of a specification as JSON: rates and ratios as text, parts as an object."""
    if isinstance(value, Codec):
        if value.profile is None:
            return value.name
        return {"codec": value.name, "profile": value.profile}
    if isinstance(value, Freeze) and value.longest is None:
        return True
    if isinstance(value, Duration):
        tolerance = {} if value.tolerance is None else {"tolerance": float(value.tolerance)}
        return {"seconds": float(value.seconds), **tolerance}
    if is_dataclass(value):
        parts = {field.name: plain(getattr(value, field.name)) for field in fields(value)}
        return {name: part for name, part in parts.items() if part != ""}
    if isinstance(value, Fraction):
        return str(value)
    return value
