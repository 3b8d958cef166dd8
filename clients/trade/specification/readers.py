"""Reads a specification from JSON values, one reader for each item."""

import json
import re
from collections.abc import Callable, Mapping
from fractions import Fraction

from clients.trade.filename import fault_of_pattern
from clients.trade.specification.items import (
    Aspect,
    Black,
    CadenceWanted,
    CaptionsWanted,
    Codec,
    Duration,
    FlashLimit,
    FrameCount,
    Freeze,
    Loudness,
    Specification,
    SpecificationRefused,
)
from clients.trade.specification.words import (
    AUDIO_CODECS,
    CAPTION_KINDS,
    CHANNEL_NAMES,
    CHROMAS,
    CONTAINERS,
    MATRICES,
    PRIMARIES,
    RANGES,
    SCANS,
    TRANSFERS,
    VIDEO_CODECS,
)


def _refuse(check: str, wanted: str, got: object) -> SpecificationRefused:
    return SpecificationRefused(f"{check} must be {wanted}; got {_shown(got)}.")


def _shown(value: object) -> str:
    """As it stands in the file, where it is a word of JSON."""
    text = repr(value) if isinstance(value, str) else json.dumps(value, default=str)
    return text if len(text) <= 60 else text[:57] + "..."


def _whole(low: int, high: int, unit: str) -> Callable:
    def read(check: str, value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise _refuse(check, f"a whole number of {unit} from {low} to {high}", value)
        return value

    return read


def _number(low: float, high: float, unit: str) -> Callable:
    def read(check: str, value: object) -> float:
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        if not is_number or not low <= value <= high:
            raise _refuse(check, f"a number of {unit} from {low:g} to {high:g}", value)
        return float(value)

    return read


def _word(known: Mapping[str, str | int]) -> Callable:
    def read(check: str, value: object) -> str | int:
        key = value.strip().lower().replace("h.26", "h26") if isinstance(value, str) else None
        if key not in known:
            raise _refuse(check, "one of " + ", ".join(dict.fromkeys(known)), value)
        return known[key]

    return read


def _code(names: Mapping[str, int]) -> Callable:
    def read(check: str, value: object) -> int:
        if isinstance(value, str):
            return _word(names)(check, value.replace("_", "-"))
        return _whole(0, 255, "its H.273 code")(check, value)

    return read


def _ratio(low: Fraction, high: Fraction, example: str) -> Callable:
    def read(check: str, value: object) -> Fraction:
        text = str(value).strip().replace(":", "/")
        if isinstance(value, bool) or not re.fullmatch(r"\d{1,9}(\.\d{1,6}|/\d{1,9})?", text):
            raise _refuse(check, f"a ratio such as {example}", value)
        if text.endswith("/0") or re.search(r"/0+$", text):
            raise _refuse(check, f"a ratio such as {example}", value)
        ratio = Fraction(text)
        if not low <= ratio <= high:
            raise _refuse(check, f"between {low} and {high}", value)
        return ratio

    return read


def _frame_rate(check: str, value: object) -> Fraction:
    rate = _ratio(Fraction(1), Fraction(300), '"24000/1001" or "25"')(check, value)
    if rate.denominator not in (1, 2, 1001):
        nearest = Fraction(round(rate * Fraction(1001, 1000)) * 1000, 1001)
        raise SpecificationRefused(
            f'{check} must be exact; got {value}. Write "{nearest}" if that is what is meant.'
        )
    return rate


def _pixel_aspect(check: str, value: object) -> Aspect:
    return Aspect(_ratio(Fraction(1, 10), Fraction(10), '"1:1"')(check, value))


def _yes(check: str, value: object) -> bool:
    if value is not True:
        raise _refuse(check, "true, or left out", value)
    return True


def _audio(check: str, value: object) -> str:
    words = {True: "present", False: "none", "present": "present", "none": "none"}
    if not isinstance(value, bool | str) or value not in words:
        raise _refuse(check, '"present" or "none"', value)
    return words[value]


def _channels(check: str, value: object) -> int:
    if isinstance(value, str):
        return _word(CHANNEL_NAMES)(check, value)
    return _whole(1, 64, "channels")(check, value)


def _parts(check: str, value: object, **readers: Callable) -> dict:
    """Reads an object whose names are those of ``readers``; any may be left out."""
    unknown = [name for name in value if name not in readers]
    if unknown:
        raise SpecificationRefused(
            f"{check} has no part {_shown(unknown[0])}; it takes {', '.join(readers)}."
        )
    return {name: readers[name](f"{check} {name}", part) for name, part in value.items()}


def _need(check: str, parts: dict, name: str) -> dict:
    if name not in parts:
        raise SpecificationRefused(f"{check} needs {name!r}; write it inside the braces.")
    return parts


FRAMES = _whole(0, 10_000_000, "frames")
SECONDS = _ratio(Fraction(0), Fraction(360_000), "30 or 12.5")


def _video_codec(check: str, value: object) -> Codec:
    if not isinstance(value, dict):
        return Codec(_word(VIDEO_CODECS)(check, value))

    def text(name: str, part: object) -> str:
        if not isinstance(part, str) or not 0 < len(part) <= 60:
            raise _refuse(name, "a profile's name, such as High", part)
        return part

    parts = _need(check, _parts(check, value, codec=_word(VIDEO_CODECS), profile=text), "codec")
    return Codec(parts["codec"], parts.get("profile"))


def _frame_count(check: str, value: object) -> FrameCount:
    if not isinstance(value, dict):
        return FrameCount(_whole(1, 10_000_000, "frames")(check, value))
    parts = _parts(check, value, frames=_whole(1, 10_000_000, "frames"), tolerance=FRAMES)
    return FrameCount(**_need(check, parts, "frames"))


def _duration(check: str, value: object) -> Duration | FrameCount:
    if not isinstance(value, dict):
        return Duration(SECONDS(check, value))
    if "frames" in value:
        return _frame_count(check, value)
    parts = _parts(check, value, seconds=SECONDS, tolerance=SECONDS)
    return Duration(**_need(check, parts, "seconds"))


def _size(check: str, value: object) -> int:
    return _largest(check, value, "largest", _whole(1, 10**15, "bytes"))


def _true_peak(check: str, value: object) -> float:
    return _largest(check, value, "highest", _number(-40, 6, "dBTP"))


def _largest(check: str, value: object, word: str, reader: Callable) -> object:
    """A plain number, or the same in braces: {"largest": 5} or {"max": 5}."""
    if not isinstance(value, dict):
        return reader(check, value)
    parts = _parts(check, value, **{word: reader, "max": reader})
    if len(parts) != 1:
        raise _refuse(check, f'one number, or {{"{word}": number}}', value)
    return next(iter(parts.values()))


def _name(check: str, value: object) -> str:
    if not isinstance(value, str):
        raise _refuse(check, "a pattern such as {production}_v{version}.mp4", value)
    if fault := fault_of_pattern(value):
        raise SpecificationRefused(fault)
    return value


def _is_default(value: object) -> bool:
    """``true`` asks for the check; ``false``, ``0`` and ``"none"`` for none of the fault."""
    return isinstance(value, bool) or value == "none"


def _black(check: str, value: object) -> Black:
    if _is_default(value):
        return Black()
    if isinstance(value, dict):
        return Black(**_parts(check, value, head=FRAMES, inside=FRAMES, tail=FRAMES))
    frames = FRAMES(check, value)
    return Black(frames, frames, frames)


def _freeze(check: str, value: object) -> Freeze:
    if _is_default(value):
        return Freeze()
    longest = _whole(1, 10_000_000, "frames")
    if isinstance(value, dict):
        return Freeze(**_need(check, _parts(check, value, longest=longest), "longest"))
    return Freeze(longest(check, value))


def _cadence(check: str, value: object) -> CadenceWanted:
    exposure = _whole(1, 48, "frames for each picture")
    if isinstance(value, dict):
        return CadenceWanted(**_need(check, _parts(check, value, exposure=exposure), "exposure"))
    return CadenceWanted(exposure(check, value))


def _loudness(check: str, value: object) -> Loudness:
    target = _number(-70, 0, "LUFS")
    if not isinstance(value, dict):
        return Loudness(target(check, value))
    parts = _parts(check, value, target=target, tolerance=_number(0, 20, "LU"))
    return Loudness(**_need(check, parts, "target"))


def _captions(check: str, value: object) -> CaptionsWanted:
    if value is True or value == "present":
        return CaptionsWanted()
    if isinstance(value, dict):
        parts = _parts(check, value, kind=_word(CAPTION_KINDS), file=_beside)
        return CaptionsWanted(**parts)
    if isinstance(value, str) and value.lower().endswith((".srt", ".vtt")):
        return CaptionsWanted(file=_beside(check, value))
    return CaptionsWanted(_word(CAPTION_KINDS)(check, value))


def _beside(check: str, value: object) -> str:
    """A bare file name: captions named in a specification lie beside the film."""
    if not isinstance(value, str) or not re.fullmatch(r"(?!\.\.?$)[^/\\\x00-\x1f]{1,255}", value):
        raise _refuse(check, "the name of a file beside the film, without folders", value)
    return value


def _flash(check: str, value: object) -> FlashLimit:
    if _is_default(value):
        return FlashLimit()
    limit = _whole(0, 60, "flashes a second")
    if isinstance(value, dict):
        return FlashLimit(**_parts(check, value, general=limit, red=limit))
    flashes = limit(check, value)
    return FlashLimit(flashes, flashes)


def _title(check: str, value: object) -> str:
    if not isinstance(value, str) or len(value) > 200:
        raise _refuse(check, "a short text", value)
    return value


READERS: dict[str, Callable] = {
    "title": _title,
    "container": _word(CONTAINERS),
    "video_codec": _video_codec,
    "width": _whole(1, 16_384, "pixels"),
    "height": _whole(1, 16_384, "pixels"),
    "pixel_aspect": _pixel_aspect,
    "scan": _word(SCANS),
    "frame_rate": _frame_rate,
    "constant_rate": _yes,
    "frame_count": _frame_count,
    "duration": _duration,
    "bit_depth": _whole(8, 16, "bits"),
    "chroma": _word(CHROMAS),
    "colour_primaries": _code(PRIMARIES),
    "colour_transfer": _code(TRANSFERS),
    "colour_matrix": _code(MATRICES),
    "colour_range": _word(RANGES),
    "size": _size,
    "name": _name,
    "black": _black,
    "freeze": _freeze,
    "cadence": _cadence,
    "audio": _audio,
    "audio_codec": _word(AUDIO_CODECS),
    "sample_rate": _whole(8_000, 768_000, "hertz"),
    "channels": _channels,
    "loudness": _loudness,
    "true_peak": _true_peak,
    "captions": _captions,
    "flash": _flash,
    "stills": _whole(1, 1000, "pictures"),
}


LARGEST_TEXT = 1_000_000
"""bytes of a specification's file"""


def from_text(content: bytes) -> Specification:
    """Reads a specification from the content of its JSON file. Raises SpecificationRefused."""
    if len(content) > LARGEST_TEXT:
        raise SpecificationRefused("The specification file is too large.")
    try:
        data = json.loads(content, object_pairs_hook=_once_each)
    except SpecificationRefused:
        raise
    except json.JSONDecodeError as fault:
        raise SpecificationRefused(
            f"The specification is not JSON: {fault.msg} in line {fault.lineno}."
        ) from None
    except (ValueError, RecursionError):
        raise SpecificationRefused(
            "The specification is not JSON text in UTF-8 that can be read."
        ) from None
    return from_json(data)


def _once_each(items: list[tuple[str, object]]) -> dict:
    """An object of JSON. Of a name written twice, nobody knows which one is meant."""
    names = [name for name, _ in items]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise SpecificationRefused(f"{_shown(twice)} is written twice; keep one of them.")
    return dict(items)


def from_json(data: object) -> Specification:
    """Reads a specification. Raises SpecificationRefused, whose message is one sentence.

    A length may be written as ``length`` or ``frame_count``; both mean the same check.
    """
    if not isinstance(data, dict):
        raise _refuse("A specification", 'an object in braces, such as {"width": 1920}', data)
    if "length" in data:
        if "frame_count" in data:
            raise SpecificationRefused("length and frame_count mean the same; keep one of them.")
        data = {"frame_count" if name == "length" else name: v for name, v in data.items()}
    unknown = [name for name in data if name not in READERS]
    if unknown:
        raise SpecificationRefused(
            f"A specification has no item {_shown(unknown[0])}; it takes {', '.join(READERS)}."
        )
    return Specification(**{name: READERS[name](name, value) for name, value in data.items()})
