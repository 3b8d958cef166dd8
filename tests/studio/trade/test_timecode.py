from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from timecode import Timecode

from studio.trade.timecode import (
    COMMON_RATES,
    LengthError,
    RateError,
    counting_base,
    frames_from_seconds,
    frames_from_timecode,
    parse_length,
    parse_rate,
    rate_label,
    seconds_and_frames,
    timecode,
)

F = Fraction
NTSC_24, NTSC_30, NTSC_60 = F(24000, 1001), F(30000, 1001), F(60000, 1001)


# ITU-R BT.709: 60, 30 and 24 also exist divided by 1.001.
@pytest.mark.parametrize(
    ("text", "rate"),
    [
        ("24", F(24)),
        (" 12.5 ", F(25, 2)),
        ("12,5", F(25, 2)),
        ("12.50", F(25, 2)),
        ("24000/1001", NTSC_24),
        ("23.976", NTSC_24),
        ("23.98", NTSC_24),
        ("23.976024", NTSC_24),
        ("29.97", NTSC_30),
        ("29.970", NTSC_30),
        ("59.94", NTSC_60),
        ("25/3", F(25, 3)),
        ("1000", F(1000)),
    ],
)
def test_a_rate_is_read_as_an_exact_fraction(text, rate):
    assert parse_rate(text) == rate


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "empty"),
        ("0", "more than 0"),
        ("0.00", "more than 0"),
        ("0/5", "more than 0"),
        ("1/0", "divided by 0"),
        ("-24", "negative"),
        ("−24", "negative"),
        ("fast", "not a frame rate"),
        ("nan", "not a frame rate"),
        ("inf", "not a frame rate"),
        ("1e3", "not a frame rate"),
        ("24 25", "not a frame rate"),
        ("٢٤", "not a frame rate"),
        ("9" * 5000, "not a frame rate"),
        ("1001", "too fast"),
        ("1000.5", "too fast"),
    ],
)
def test_a_rate_that_makes_no_sense_is_refused_with_a_sentence(text, said):
    with pytest.raises(RateError, match=said) as refusal:
        parse_rate(text)
    assert str(refusal.value).endswith(".")
    assert len(str(refusal.value)) < 200


@pytest.mark.parametrize(
    ("rate", "label"),
    [
        (NTSC_24, "23.976"),
        (NTSC_30, "29.97"),
        (NTSC_60, "59.94"),
        (F(25, 2), "12.5"),
        (F(24), "24"),
        (F(100), "100"),
        (F(25, 3), "25/3"),
        (F(2398, 100), "1199/50"),  # 23.98 would read back as 24000/1001
    ],
)
def test_a_rate_is_labelled_as_people_write_it_and_reads_back(rate, label):
    assert rate_label(rate) == label
    assert parse_rate(label) == rate


def test_the_common_rates_carry_their_own_labels():
    assert [label for label, _ in COMMON_RATES] == [
        *("6", "8", "10", "12", "12.5", "15", "16", "18", "23.976", "24", "25", "29.97", "30")
    ]
    assert all(
        rate_label(rate) == label and parse_rate(label) == rate for label, rate in COMMON_RATES
    )


# SMPTE ST 12-1: 23.976 counts in 24s, 29.97 in 30s, 59.94 in 60s.
@pytest.mark.parametrize(
    ("rate", "base"),
    [(NTSC_24, 24), (NTSC_30, 30), (NTSC_60, 60), (F(25), 25), (F(25, 2), 13), (F(12), 12)],
)
def test_the_counting_base_is_the_whole_rate(rate, base):
    assert counting_base(rate) == base


@pytest.mark.parametrize(
    ("seconds", "rate", "frames"),
    [
        (10, F(24), 240),  # animation course "Timing": 10 s on ones at 24 are 240
        (Decimal("4.5"), F(24), 108),
        (1, F(25, 2), 13),  # 12.5 rounds up
        (3, F(25, 2), 38),  # 37.5 rounds up, not to even
        (Decimal("0.1"), F(25), 3),  # 2.5 rounds up
        (3600, NTSC_24, 86314),  # 86313.69
        (Fraction(1001, 1000), NTSC_30, 30),
        (0, F(24), 0),
    ],
)
def test_seconds_become_frames_with_halves_rounded_up(seconds, rate, frames):
    assert frames_from_seconds(seconds, rate) == frames


@pytest.mark.parametrize(
    ("text", "rate", "frames"),
    [
        ("4.5", F(24), 108),
        ("4,5", F(24), 108),
        ("4.5 s", F(24), 108),
        ("4.5S", F(24), 108),
        (".5", F(24), 12),
        ("108", F(24), 2592),  # a bare number is seconds
        ("108 f", F(24), 108),
        ("108f", F(24), 108),
        ("4s06f", F(24), 102),
        ("4 s 06 f", F(24), 102),
        ("0 s 1 f", F(24), 1),
        ("00:00:04:06", F(24), 102),
        ("00:00:04:06", F(25), 106),
        ("00:01:00;02", NTSC_30, 1800),
        ("1:30", F(12), 1080),
        ("1:30.5", F(12), 1086),
        ("60", NTSC_24, 1439),  # true seconds: 1438.56
        ("60 s 00 f", NTSC_24, 1440),  # labels
        ("1 s 00 f", F(25, 2), 13),
        ("2 s 00 f", F(25, 2), 25),
        ("24:00", F(24), 34560),
        ("86400", F(24), 2073600),
        ("23:59:59:23", F(24), 2073599),
    ],
)
def test_a_length_is_read_in_every_spelling(text, rate, frames):
    assert parse_length(text, rate) == frames


@pytest.mark.parametrize(
    ("text", "rate", "said"),
    [
        ("", F(24), "empty"),
        ("   ", F(24), "empty"),
        ("0", F(24), "at least one frame"),
        ("0 f", F(24), "at least one frame"),
        ("00:00:00:00", F(24), "at least one frame"),
        ("0.01", F(6), "at least one frame"),
        ("-3", F(24), "negative"),
        ("−3 s", F(24), "negative"),
        ("86401", F(24), "24 hours"),
        ("86401", NTSC_30, "24 hours"),
        ("9" * 30, F(24), "24 hours"),
        ("2073601 f", F(24), "24 hours"),
        ("9" * 5000, F(24), "not a length"),
        ("four", F(24), "not a length"),
        ("4 x", F(24), "not a length"),
        ("nan", F(24), "not a length"),
        ("1e3", F(24), "not a length"),
        ("4.5.6", F(24), "not a length"),
        ("٤", F(24), "not a length"),
        ("4.5 f", F(24), "Frames come whole"),
        ("4 s 24 f", F(24), "frames 00 to 23"),
        ("00:00:04:24", F(24), "frames 00 to 23"),
        ("00:00:04:24", NTSC_24, "at 23.976 frames per second has frames 00 to 23"),
        ("1 s 12 f", F(25, 2), "frames 00 to 11"),
        ("1:60", F(24), "stop at 59"),
        ("00:00:60:00", F(24), "stop at 59"),
        ("24:00:00:00", F(24), "23 hours"),
        ("1:30:00", F(24), "four parts"),
        ("00:01:00;02", F(24), "29.97 and 59.94 only"),
        ("00:01:00;00", NTSC_30, "skips the label"),
        ("1:2:3:4:5", F(24), "not a timecode"),
    ],
)
def test_a_length_that_makes_no_sense_is_refused_with_its_own_sentence(text, rate, said):
    with pytest.raises((LengthError, RateError), match=said) as refusal:
        parse_length(text, rate)
    assert str(refusal.value).endswith(".")
    assert len(str(refusal.value)) < 260


@pytest.mark.parametrize(
    ("frames", "rate", "text"),
    [
        (102, F(24), "4 s 06 f"),
        (0, F(24), "0 s 00 f"),
        (-2, F(24), "−0 s 02 f"),
        (-102, F(24), "−4 s 06 f"),
        (1440, NTSC_24, "60 s 00 f"),
        (12, F(25, 2), "0 s 12 f"),
        (13, F(25, 2), "1 s 00 f"),
        (25, F(25, 2), "2 s 00 f"),
        (150, F(120), "1 s 030 f"),
    ],
)
def test_a_length_is_shown_as_seconds_and_frames(frames, rate, text):
    assert seconds_and_frames(frames, rate) == text


# SMPTE ST 12-1 drop-frame rule; table made with timecode 1.5.1 and OpenTimelineIO 0.18.
DROP_FRAME_29_97 = [
    (0, "00:00:00;00"),
    (1, "00:00:00;01"),
    (29, "00:00:00;29"),
    (30, "00:00:01;00"),
    (1799, "00:00:59;29"),
    (1800, "00:01:00;02"),
    (1801, "00:01:00;03"),
    (3597, "00:01:59;29"),
    (3598, "00:02:00;02"),
    (5396, "00:03:00;02"),
    (8991, "00:04:59;29"),
    (8992, "00:05:00;02"),
    (17981, "00:09:59;29"),
    (17982, "00:10:00;00"),
    (17983, "00:10:00;01"),
    (19781, "00:10:59;29"),
    (19782, "00:11:00;02"),
    (35964, "00:20:00;00"),
    (53946, "00:30:00;00"),
    (107891, "00:59:59;29"),
    (107892, "01:00:00;00"),
    (2589407, "23:59:59;29"),
]
DROP_FRAME_59_94 = [
    (0, "00:00:00;00"),
    (3, "00:00:00;03"),
    (3599, "00:00:59;59"),
    (3600, "00:01:00;04"),
    (7196, "00:02:00;04"),
    (35964, "00:10:00;00"),
    (215784, "01:00:00;00"),
]
# Same source, without dropping: an hour of labels at 29.97 is 108000.
NON_DROP_FRAME = [
    (F(24), 1440, "00:01:00:00"),
    (F(24), 86400, "01:00:00:00"),
    (F(24), 2073599, "23:59:59:23"),
    (NTSC_24, 86400, "01:00:00:00"),
    (F(25), 1500, "00:01:00:00"),
    (F(25), 90000, "01:00:00:00"),
    (F(25), 2159999, "23:59:59:24"),
    (F(30), 1800, "00:01:00:00"),
    (NTSC_30, 108000, "01:00:00:00"),
    (F(30), 2591999, "23:59:59:29"),
]


@pytest.mark.parametrize(
    ("rate", "frames", "label", "drop_frame"),
    [(NTSC_30, frames, label, True) for frames, label in DROP_FRAME_29_97]
    + [(NTSC_60, frames, label, True) for frames, label in DROP_FRAME_59_94]
    + [(rate, frames, label, False) for rate, frames, label in NON_DROP_FRAME],
)
def test_timecode_matches_the_standard_both_ways(rate, frames, label, drop_frame):
    assert timecode(frames, rate, drop_frame) == label
    assert frames_from_timecode(label, rate) == frames


@pytest.mark.parametrize(
    ("frames", "rate", "drop_frame", "label"),
    [
        (2589408, NTSC_30, True, "00:00:00;00"),
        (5178816, NTSC_60, True, "00:00:00;00"),
        (2073600, F(24), False, "00:00:00:00"),
    ],
)
def test_labels_start_again_after_a_day(frames, rate, drop_frame, label):
    assert timecode(frames, rate, drop_frame) == label


@pytest.mark.parametrize(
    ("name", "rate", "drop_frame"),
    [
        ("23.976", NTSC_24, False),
        ("24", F(24), False),
        ("25", F(25), False),
        ("29.97", NTSC_30, True),
        ("29.97", NTSC_30, False),
        ("30", F(30), False),
        ("59.94", NTSC_60, True),
    ],
)
def test_timecode_agrees_with_an_outside_counter(name, rate, drop_frame):
    # timecode 1.5.1, which counts frames from 1; a prime step visits every position in a minute.
    for frames in [*range(0, 4000), *range(4000, 2_000_000, 9973)]:
        theirs = Timecode(name, frames=frames + 1, force_non_drop_frame=not drop_frame)
        assert timecode(frames, rate, drop_frame) == str(theirs), frames


def test_drop_frame_at_another_rate_is_refused():
    with pytest.raises(RateError, match=r"29\.97 and 59\.94 only, got 23\.976"):
        timecode(10, NTSC_24, drop_frame=True)


def test_a_negative_frame_has_no_label():
    with pytest.raises(LengthError, match="counts up from 0"):
        timecode(-1, F(24))


def test_every_skipped_label_of_an_hour_is_refused():
    skipped = [f"00:{m:02d}:00;{f:02d}" for m in range(60) if m % 10 for f in (0, 1)]
    assert len(skipped) == 108  # SMPTE ST 12-1: 108 labels an hour
    for label in skipped:
        with pytest.raises(LengthError, match="skips the label"):
            frames_from_timecode(label, NTSC_30)


RATES = st.sampled_from([rate for _, rate in COMMON_RATES] + [NTSC_60, F(25, 3), F(1, 2), F(120)])


@given(RATES, st.integers(0, 40_000))
def test_timecode_round_trips(rate, frames):
    assert frames_from_timecode(timecode(frames, rate), rate) == frames


@given(st.sampled_from([NTSC_30, NTSC_60]), st.integers(0, 2_589_407))
def test_drop_frame_timecode_round_trips(rate, frames):
    assert frames_from_timecode(timecode(frames, rate, drop_frame=True), rate) == frames


@given(RATES, st.integers(1, 40_000))
def test_a_shown_length_reads_back_as_itself(rate, frames):
    assert parse_length(seconds_and_frames(frames, rate), rate) == frames
