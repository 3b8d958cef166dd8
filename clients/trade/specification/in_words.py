"""Items, wanted and found values of a check as people read them."""

from collections.abc import Callable
from fractions import Fraction

from clients.trade.specification.items import CHECKS, Specification, plain
from clients.trade.specification.words import MATRICES, PRIMARIES, TRANSFERS, name_of_code
from studio.trade.file_size import file_size
from studio.trade.timecode import rate_label

LABELS = {
    "container": "Container",
    "video_codec": "Video codec",
    "width": "Picture width",
    "height": "Picture height",
    "pixel_aspect": "Pixel aspect",
    "scan": "Scan",
    "frame_rate": "Frame rate",
    "constant_rate": "Constant rate",
    "frame_count": "Frames",
    "duration": "Duration",
    "bit_depth": "Bit depth",
    "chroma": "Chroma",
    "colour_primaries": "Colour primaries",
    "colour_transfer": "Transfer curve",
    "colour_matrix": "Colour matrix",
    "colour_range": "Colour range",
    "size": "File size",
    "name": "File name",
    "black": "Black",
    "freeze": "Frozen picture",
    "cadence": "Cadence",
    "audio": "Sound",
    "audio_codec": "Audio codec",
    "sample_rate": "Sample rate",
    "channels": "Channels",
    "loudness": "Loudness",
    "true_peak": "True peak",
    "captions": "Captions",
    "flash": "Flash caution",
    "stills": "Still frames",
}
_LONGEST = {"size", "true_peak"}  # wanted at most, not exactly


def in_words(specification: Specification) -> tuple[tuple[str, str], ...]:
    """Every item that is set, as its label and what is wanted, in the order of the checks."""
    lines = []
    for check in (*CHECKS, "stills"):
        value = getattr(specification, check)
        if value is not None:
            lines.append((LABELS[check], wanted_in_words(check, plain(value))))
    return tuple(lines)


def wanted_in_words(check: str, value: object) -> str:
    """What a specification asks for in one item; `value` is its JSON value."""
    if check == "loudness":
        return f"{minus(value['target'])} LUFS, ±{value['tolerance']:g} LU"
    if check == "freeze":
        return "one second at most" if value is True else f"{value['longest']} frames at most"
    if check == "video_codec" and isinstance(value, dict):
        return f"{value['codec']}, profile {value['profile']}"
    if check == "cadence":
        return f"each picture for {_count(value['exposure'], 'frame')}"
    if check == "captions":
        return value.get("file") or {"any": "SRT or WebVTT"}.get(value["kind"], value["kind"])
    if check == "flash":
        return f"{value['general']} general, {value['red']} red in any second at most"
    if check in ("frame_count", "duration") and isinstance(value, dict):
        return _length(value)
    if check == "black":
        return "at most {head} at the head, {inside} inside, {tail} at the end".format(**value)
    words = found_in_words(check, value)
    return f"{words} at most" if check in _LONGEST else words


def found_in_words(check: str, value: object) -> str:
    """What was found of one item; `value` is the JSON value of the result."""
    if isinstance(value, str) and check != "frame_rate":
        return value
    return _FOUND.get(check, str)(value)


def minus(number: float) -> str:
    """A number with a true minus sign."""
    return f"{number:g}".replace("-", "−")


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _length(value: dict) -> str:
    unit = "frames" if "frames" in value else "seconds"
    tolerance = value.get("tolerance")
    give = f" ± {tolerance:g}" if tolerance else ""
    return f"{value[unit]:g}{give} {unit}"


def _rate(value: object) -> str:
    try:
        return f"{rate_label(Fraction(str(value)))} frames a second"
    except ValueError:
        return str(value)


def _code(names: dict[str, int]) -> Callable[[int], str]:
    return lambda code: f"{name_of_code(code, names)} ({code})"


def _black(found: dict) -> str:
    parts = [f"{found['head']} at the head" if found["head"] else ""]
    parts += [f"inside {', '.join(found['inside'])}" if found["inside"] else ""]
    parts += [f"{found['tail']} at the end" if found["tail"] else ""]
    return ", ".join(filter(None, parts)) or "none"


_FOUND: dict[str, Callable[..., str]] = {
    "width": "{} px".format,
    "height": "{} px".format,
    "frame_rate": _rate,
    "constant_rate": lambda yes: "yes" if yes else "no",
    "frame_count": lambda frames: _count(frames, "frame"),
    "duration": "{:g} seconds".format,
    "bit_depth": "{} bits".format,
    "colour_primaries": _code(PRIMARIES),
    "colour_transfer": _code(TRANSFERS),
    "colour_matrix": _code(MATRICES),
    "size": file_size,
    "black": _black,
    "sample_rate": "{} Hz".format,
    "channels": lambda channels: {1: "mono", 2: "stereo"}.get(channels, f"{channels} channels"),
    "loudness": lambda level: f"{minus(level)} LUFS",
    "true_peak": lambda level: f"{minus(level)} dBTP",
    "flash": lambda found: "{general:g} general, {red:g} red in a second".format(**found),
    "stills": lambda count: _count(count, "picture"),
}
