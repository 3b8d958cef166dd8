"""The words a specification may use, and what they stand for."""

from collections.abc import Mapping

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
