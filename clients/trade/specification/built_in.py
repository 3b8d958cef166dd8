"""The specifications that come with it: plain names, no platform and no company."""

from clients.trade.specification.items import Specification
from clients.trade.specification.readers import from_json

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
