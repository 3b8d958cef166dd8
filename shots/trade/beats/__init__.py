"""A shot built from what happens in it: each beat gives frames and pictures."""

from shots.trade.beats.lines import SheetLine, blank_lines, sheet_lines
from shots.trade.beats.reading import Beat, BeatError, length_of, read_beats
from shots.trade.beats.walk import Walk, WalkPose, walk_poses

__all__ = [
    "Beat",
    "BeatError",
    "SheetLine",
    "Walk",
    "WalkPose",
    "blank_lines",
    "length_of",
    "read_beats",
    "sheet_lines",
    "walk_poses",
]
