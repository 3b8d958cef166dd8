"""Captions files read and judged: SubRip text (SRT) and W3C WebVTT."""

import re
from dataclasses import dataclass

SRT = "srt"
WEBVTT = "webvtt"

SRT_TIME = r"(\d{2,}):([0-5]\d):([0-5]\d),(\d{3})"
VTT_TIME = r"(?:(\d{2,}):)?([0-5]\d):([0-5]\d)\.(\d{3})"
SRT_TIMES = re.compile(rf"{SRT_TIME}[ \t]*-->[ \t]*{SRT_TIME}[ \t]*")
VTT_TIMES = re.compile(rf"{VTT_TIME}[ \t]+-->[ \t]+{VTT_TIME}(?:[ \t].*)?")
MOST_NAMED = 5


@dataclass(frozen=True)
class Cue:
    """One caption: times in milliseconds, and the line of the file it starts on."""

    start: int
    end: int
    text: str
    line: int


@dataclass(frozen=True)
class Captions:
    """What a captions file holds. ``faults`` are sentences about lines that could not be read."""

    kind: str
    cues: tuple[Cue, ...]
    faults: tuple[str, ...]


def read_captions(text: str) -> Captions:
    """Reads either kind; the first line tells which (WebVTT 4.1: it starts with WEBVTT)."""
    lines = re.split(r"\r\n|\n|\r", text.removeprefix("\ufeff"))
    is_webvtt = re.match(r"WEBVTT(?:[ \t]|$)", lines[0]) is not None
    cues, faults = [], []
    for first_line, block in _blocks(lines):
        if is_webvtt and (first_line == 1 or re.match(r"NOTE\b|STYLE\b|REGION\b", block[0])):
            continue
        times = VTT_TIMES if is_webvtt else SRT_TIMES
        cue = _cue(block, first_line, times)
        if isinstance(cue, Cue):
            cues.append(cue)
        else:
            faults.append(cue)
    return Captions(WEBVTT if is_webvtt else SRT, tuple(cues), tuple(faults))


def faults_of(captions: Captions, film_seconds: float) -> list[str]:
    """Each thing wrong, as a short sentence: order, overlap, inside the film's length."""
    faults = list(captions.faults)
    if not captions.cues and not faults:
        faults.append("There is no caption in it.")
    before = None
    for cue in captions.cues:
        where = f"The caption on line {cue.line}"
        if cue.end <= cue.start:
            faults.append(f"{where} ends before it starts.")
        if not cue.text:
            faults.append(f"{where} is empty.")
        if cue.end > film_seconds * 1000 + 0.5:
            faults.append(f"{where} lasts until {clock(cue.end)}, after the film ends.")
        if before and cue.start < before.start:
            faults.append(f"{where} starts before the one above it.")
        elif before and cue.start < before.end:
            faults.append(f"{where} overlaps the one above it.")
        before = cue
    return faults


def clock(milliseconds: int) -> str:
    """``00:01:02.345``"""
    seconds, thousandths = divmod(milliseconds, 1000)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02d}:{minutes:02d}:{seconds:02d}.{thousandths:03d}"


def _blocks(lines: list[str]) -> list[tuple[int, list[str]]]:
    """Groups of lines between blank ones, each with the number of its first line."""
    blocks: list[tuple[int, list[str]]] = []
    inside = False
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            inside = False
        elif inside:
            blocks[-1][1].append(line)
        else:
            blocks.append((number, [line]))
            inside = True
    return blocks


def _cue(block: list[str], first_line: int, times: re.Pattern[str]) -> Cue | str:
    for offset, line in enumerate(block[:2]):  # a number or a name may come first
        if match := times.fullmatch(line.strip()):
            parts = [int(part or 0) for part in match.groups()]
            text = "\n".join(block[offset + 1 :]).strip()
            return Cue(_milliseconds(*parts[:4]), _milliseconds(*parts[4:]), text, first_line)
    return f"Line {first_line} starts no caption that can be read: {block[0][:40]!r}."


def _milliseconds(hours: int, minutes: int, seconds: int, thousandths: int) -> int:
    return ((hours * 60 + minutes) * 60 + seconds) * 1000 + thousandths
