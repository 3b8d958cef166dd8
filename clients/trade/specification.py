"""What a client wants of a file: the specification, read from and written to JSON.

Every field is optional; None means that the item is not checked. The built-in specifications
name no platform and no company, so a studio starts from one and changes what its client asks.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, is_dataclass
from fractions import Fraction

from clients.trade.filename import fault_of_pattern

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


# --- words a specification may use -------------------------------------------------------

CONTAINERS = {
    "mp4": "mp4", "mov": "mov", "quicktime": "mov", "matroska": "matroska", "mkv": "matroska",
    "webm": "webm", "mxf": "mxf", "avi": "avi", "mpegts": "mpegts", "ts": "mpegts",
    "ogg": "ogg",
}  # fmt: skip
VIDEO_CODECS = {
    "h264": "h264", "avc": "h264", "h265": "hevc", "hevc": "hevc", "av1": "av1", "vp8": "vp8",
    "vp9": "vp9", "prores": "prores", "dnxhd": "dnxhd", "dnxhr": "dnxhd", "ffv1": "ffv1",
    "mpeg2video": "mpeg2video", "mpeg2": "mpeg2video", "mpeg4": "mpeg4", "mjpeg": "mjpeg",
    "jpeg2000": "jpeg2000", "png": "png", "rawvideo": "rawvideo", "qtrle": "qtrle",
    "cfhd": "cfhd", "theora": "theora", "huffyuv": "huffyuv", "utvideo": "utvideo",
}  # fmt: skip
AUDIO_CODECS = {
    name: name
    for name in (
        "aac", "mp3", "mp2", "ac3", "eac3", "opus", "vorbis", "flac", "alac", "pcm_s16le",
        "pcm_s16be", "pcm_s24le", "pcm_s24be", "pcm_s32le", "pcm_s32be", "pcm_f32le",
    )
}  # fmt: skip
CHROMAS = {name: name for name in ("4:2:0", "4:2:2", "4:4:4", "4:1:1", "4:4:0", "rgb", "grey")}
CHROMAS |= {name.replace(":", ""): name for name in CHROMAS if ":" in name} | {"gray": "grey"}
SCANS = {"progressive": "progressive", "interlaced": "interlaced"}
RANGES = {"limited": "limited", "tv": "limited", "video": "limited", "mpeg": "limited",
          "full": "full", "pc": "full", "jpeg": "full"}  # fmt: skip
CHANNEL_NAMES = {"mono": 1, "stereo": 2, "5.1": 6, "7.1": 8}
CAPTION_KINDS = {"srt": "srt", "webvtt": "webvtt", "vtt": "webvtt", "any": "any"}

# ITU-T H.273 code numbers and plain names for them (tables 2, 3 and 4).
PRIMARIES = {"bt709": 1, "unspecified": 2, "bt470m": 4, "bt470bg": 5, "bt601-625": 5,
             "smpte170m": 6, "bt601-525": 6, "bt601": 6, "smpte240m": 7, "film": 8, "bt2020": 9,
             "smpte428": 10, "smpte431": 11, "smpte432": 12, "p3-d65": 12}  # fmt: skip
TRANSFERS = {"bt709": 1, "unspecified": 2, "gamma22": 4, "gamma28": 5, "smpte170m": 6,
             "bt601": 6, "smpte240m": 7, "linear": 8, "iec61966-2-4": 11, "bt1361e": 12,
             "srgb": 13, "iec61966-2-1": 13, "bt2020-10": 14, "bt2020": 14, "bt2020-12": 15,
             "pq": 16, "smpte2084": 16, "hlg": 18, "arib-std-b67": 18}  # fmt: skip
MATRICES = {"rgb": 0, "bt709": 1, "unspecified": 2, "fcc": 4, "bt470bg": 5, "bt601-625": 5,
            "smpte170m": 6, "bt601": 6, "bt601-525": 6, "smpte240m": 7, "ycgco": 8,
            "bt2020nc": 9, "bt2020": 9, "bt2020c": 10, "ictcp": 14}  # fmt: skip


def name_of_code(code: int, names: Mapping[str, int]) -> str:
    """The first plain name of an H.273 code, or the number itself."""
    return next((name for name, number in names.items() if number == code), str(code))


# --- reading one value -------------------------------------------------------------------


def _refuse(check: str, wanted: str, got: object) -> SpecificationRefused:
    return SpecificationRefused(f"{check} must be {wanted}; got {_shown(got)}.")


def _shown(value: object) -> str:
    text = repr(value)
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


# --- the specifications that come with it ------------------------------------------------

_PICTURE = {
    "pixel_aspect": "1:1",
    "scan": "progressive",
    "constant_rate": True,
    "colour_primaries": "bt709",
    "colour_transfer": "bt709",
    "colour_matrix": "bt709",
    "colour_range": "limited",
    "black": {"inside": 0, "head": 0, "tail": 0},
    "flash": {"general": 3, "red": 3},
}
_WEB = {
    **_PICTURE,
    "container": "mp4",
    "video_codec": "h264",
    "bit_depth": 8,
    "chroma": "4:2:0",
    "audio": "present",
    "audio_codec": "aac",
    "sample_rate": 48_000,
    "channels": "stereo",
    "true_peak": -1.0,
}
_BROADCAST = {
    **_PICTURE,
    "container": "mxf",
    "width": 1920,
    "height": 1080,
    "bit_depth": 10,
    "chroma": "4:2:2",
    "audio": "present",
    "audio_codec": "pcm_s24le",
    "sample_rate": 48_000,
}

# Picture sizes of the square and portrait cuts: common practice, no source. HD: ITU-R BT.709.
# Loudness: EBU R 128 (target -23.0 LUFS, -1 dBTP); ATSC A/85 (-24 LKFS +/-2 dB, -2 dBTP).
BUILT_IN: dict[str, Specification] = {
    key: from_json(items)
    for key, items in {
        "hd-web": {**_WEB, "title": "HD web master 16:9", "width": 1920, "height": 1080},
        "square": {**_WEB, "title": "Square cut 1:1", "width": 1080, "height": 1080},
        "portrait-4-5": {**_WEB, "title": "Portrait 4:5", "width": 1080, "height": 1350},
        "portrait-9-16": {**_WEB, "title": "Portrait 9:16", "width": 1080, "height": 1920},
        "broadcast-r128": {
            **_BROADCAST,
            "title": "Broadcast master with EBU R 128 sound",
            "frame_rate": "25",
            "loudness": {"target": -23.0, "tolerance": 0.5},
            "true_peak": -1.0,
        },
        "broadcast-a85": {
            **_BROADCAST,
            "title": "Broadcast master with ATSC A/85 sound",
            "frame_rate": "30000/1001",
            "loudness": {"target": -24.0, "tolerance": 2.0},
            "true_peak": -2.0,
        },
        "intraframe-archive": {
            **_PICTURE,
            "title": "Intraframe archive master",
            "container": "mov",
            "video_codec": "prores",
            "bit_depth": 10,
            "chroma": "4:2:2",
            "audio": "present",
            "audio_codec": "pcm_s24le",
            "sample_rate": 48_000,
        },
        "image-sequence": {
            "title": "Image-sequence archive",
            "name": "{production}_{shot}_v{version}.tar",
            "stills": 1,
        },
    }.items()
}
