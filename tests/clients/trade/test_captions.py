"""Captions files: order, overlap, inside the film's length."""

import pytest

from clients.trade.checks.captions import Cue, faults_of, read_captions

# The shape of a WebVTT file as in W3C WebVTT 1.1 (header, note, cue name, cue settings).
WEBVTT = """WEBVTT - A fox of felt

NOTE made by hand

intro
00:01.000 --> 00:02.500 align:start
Snow.

01:00:00.000 --> 01:00:01.000
It stops.
"""
SRT = (
    "1\r\n00:00:01,000 --> 00:00:02,500\r\nSnow.\r\n\r\n2\r\n00:00:02,500 --> 00:00:03,000\r\nX\r\n"
)


def test_webvtt_is_read():
    captions = read_captions(WEBVTT)
    assert captions.kind == "webvtt"
    assert captions.cues == (
        Cue(1000, 2500, "Snow.", 5),
        Cue(3_600_000, 3_601_000, "It stops.", 9),
    )
    assert captions.faults == ()


def test_srt_is_read_with_byte_order_mark_and_any_line_ending():
    captions = read_captions("\ufeff" + SRT)
    assert (captions.kind, [cue.start for cue in captions.cues]) == ("srt", [1000, 2500])
    assert faults_of(captions, 3.0) == []


@pytest.mark.parametrize(
    ("times", "word"),
    [
        (["00:00:02,000 --> 00:00:01,000"], "ends before it starts"),
        (["00:00:01,000 --> 00:00:04,000"], "after the film ends"),
        (["00:00:01,000 --> 00:00:02,000", "00:00:01,500 --> 00:00:02,500"], "overlaps"),
        (["00:00:02,000 --> 00:00:02,500", "00:00:01,000 --> 00:00:01,500"], "starts before"),
        (["00:00:61,000 --> 00:00:62,000"], "can be read"),
        (["0:1 -> 0:2"], "can be read"),
        ([], "no caption"),
    ],
)
def test_faults_are_named(times, word):
    text = "\n\n".join(f"{n}\n{line}\nWords." for n, line in enumerate(times, 1))
    faults = faults_of(read_captions(text), 3.0)
    assert len(faults) == 1
    assert word in faults[0]


def test_an_empty_caption_is_a_fault():
    assert "is empty" in faults_of(read_captions("1\n00:00:01,000 --> 00:00:02,000\n"), 3.0)[0]
