"""Wanted and found as people read them."""

import pytest

from clients.trade.specification import (
    BUILT_IN,
    CHECKS,
    LABELS,
    found_in_words,
    in_words,
    wanted_in_words,
)


def test_every_item_has_a_label():
    assert set(LABELS) == {*CHECKS, "stills"}


def test_a_specification_reads_line_by_line():
    assert dict(in_words(BUILT_IN["broadcast-a85"])) == {
        "Container": "mxf",
        "Picture width": "1920 px",
        "Picture height": "1080 px",
        "Pixel aspect": "1:1",
        "Scan": "progressive",
        "Frame rate": "29.97 frames a second",
        "Constant rate": "yes",
        "Bit depth": "10 bits",
        "Chroma": "4:2:2",
        "Colour primaries": "bt709 (1)",
        "Transfer curve": "bt709 (1)",
        "Colour matrix": "bt709 (1)",
        "Colour range": "limited",
        "Black": "at most 0 at the head, 0 inside, 0 at the end",
        "Sound": "present",
        "Audio codec": "pcm_s24le",
        "Sample rate": "48000 Hz",
        "Loudness": "−24 LUFS, ±2 LU",
        "True peak": "−2 dBTP at most",
        "Flash caution": "3 general, 3 red in any second at most",
    }


@pytest.mark.parametrize(
    ("check", "value", "words"),
    [
        ("freeze", True, "one second at most"),
        ("freeze", {"longest": 48}, "48 frames at most"),
        ("cadence", {"exposure": 2}, "each picture for 2 frames"),
        ("cadence", {"exposure": 1}, "each picture for 1 frame"),
        ("frame_count", {"frames": 720, "tolerance": 0}, "720 frames"),
        ("duration", {"seconds": 30.0, "tolerance": 0.05}, "30 ± 0.05 seconds"),
        ("captions", {"kind": "any"}, "SRT or WebVTT"),
        ("video_codec", {"codec": "h264", "profile": "High"}, "h264, profile High"),
        ("size", 500_000_000, "500.0 MB at most"),
    ],
)
def test_what_is_wanted_is_said_in_words(check, value, words):
    assert wanted_in_words(check, value) == words


@pytest.mark.parametrize(
    ("check", "value", "words"),
    [
        ("frame_rate", "24000/1001", "23.976 frames a second"),
        ("frame_rate", "not measurable", "not measurable"),
        ("constant_rate", "uneven, first at frame 3", "uneven, first at frame 3"),
        ("black", {"head": 0, "inside": [], "tail": 0}, "none"),
        ("black", {"head": 2, "inside": ["10 to 12"], "tail": 1},
         "2 at the head, inside 10 to 12, 1 at the end"),
        ("flash", {"general": 4, "red": 0, "worst_frame": 12}, "4 general, 0 red in a second"),
        ("loudness", -20.4, "−20.4 LUFS"),
        ("loudness", "silent", "silent"),
        ("channels", 6, "6 channels"),
        ("size", 999, "999 bytes"),
        ("size", 12_345_678, "12.3 MB"),
        ("colour_primaries", 2, "unspecified (2)"),
        ("frame_count", 1, "1 frame"),
    ],
)  # fmt: skip
def test_what_was_found_is_said_in_words(check, value, words):
    assert found_in_words(check, value) == words
