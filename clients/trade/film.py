"""What was measured in a film file: facts only, judged elsewhere."""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from clients.trade.checks.timing import Timing


@dataclass(frozen=True)
class SoundFacts:
    """The first sound stream, and how many there are. Levels are None when not asked for."""

    streams: int
    codec: str
    sample_rate: int
    """Hz"""
    channels: int
    loudness: float | None = None
    """LUFS, gated; minus infinity for silence; NaN when shorter than one 400 ms block"""
    true_peak: float | None = None
    """dBTP; minus infinity for silence"""


@dataclass(frozen=True)
class FlashFacts:
    """The most flashes (pairs of opposing changes) within one second over enough area."""

    general: float
    red: float
    worst_frame: int
    """where the worse of the two is reached, counted from 0"""


@dataclass(frozen=True)
class FilmFacts:
    """Everything measured in one file. Frames are counted from 0, as in timecode."""

    name: str
    size: int
    """bytes"""
    container: str
    expected_extensions: tuple[str, ...]
    """extensions that tell this container truthfully; empty when any will do"""
    video_streams: int
    video_codec: str
    profile: str
    width: int
    height: int
    resized_at: int | None
    """the first frame with another picture size"""
    rotation: int
    """degrees a player is told to turn the picture"""
    pixel_aspect: Fraction
    interlaced_frames: int
    bit_depth: int
    chroma: str
    """``4:2:0`` and so on, ``rgb`` or ``grey``"""
    colour_primaries: int
    colour_transfer: int
    colour_matrix: int
    """code numbers of ITU-T H.273"""
    full_range: bool | None
    """None when the file does not say"""
    bits_per_pixel: float
    """coded for each pixel of each frame, on average"""
    timing: Timing
    changes: np.ndarray | None
    """per frame: by how many levels (of 255) it differs from the picture before; float32"""
    moved: np.ndarray | None
    """per frame: by how many levels it differs from the frame REACH before; float32"""
    black: np.ndarray | None
    """per frame: is it black; bool"""
    flash: FlashFacts | None
    sound: SoundFacts | None
    captions_name: str = ""
    captions_text: str | None = None
    """None when there is no captions file"""
