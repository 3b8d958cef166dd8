"""Frame rates, lengths and timecode labels.

Rates are exact fractions in frames per second: 23.976 is 24000/1001 and nothing else. A length in
plain seconds is true time; a length written as seconds and frames, or as timecode, counts labels,
and labels at a 1001 rate run at the whole rate above it (SMPTE ST 12-1: 23.976 counts in 24s).
"""

import re
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from math import ceil, floor

COMMON_RATES: tuple[tuple[str, Fraction], ...] = (
    ("6", Fraction(6)),
    ("8", Fraction(8)),
    ("10", Fraction(10)),
    ("12", Fraction(12)),
    ("12.5", Fraction(25, 2)),
    ("15", Fraction(15)),
    ("16", Fraction(16)),
    ("18", Fraction(18)),
    ("23.976", Fraction(24000, 1001)),
    ("24", Fraction(24)),
    ("25", Fraction(25)),
    ("29.97", Fraction(30000, 1001)),
    ("30", Fraction(30)),
)

FASTEST_RATE = 1000
SECONDS_IN_A_DAY = 24 * 60 * 60

# Labels skipped at the start of each minute that is not a tenth one (SMPTE ST 12-1).
_DROPPED_LABELS = {Fraction(30000, 1001): 2, Fraction(60000, 1001): 4}

_HOW_TO_WRITE_A_LENGTH = (
    "write seconds (4.5), frames (108 f), seconds and frames (4 s 06 f), "
    "minutes and seconds (1:30) or timecode (00:00:04:06)"
)
_LONGEST_TEXT = 40


class RateError(ValueError):
    """A frame rate that cannot be used; the message says why and how to write one."""


class LengthError(ValueError):
    """A length or timecode that cannot be used; the message says why and how to write one."""


def parse_rate(text: str) -> Fraction:
    """Read a frame rate in frames per second: "24", "12.5", "12,5", "24000/1001" or "23.976".

    A decimal that is a whole rate divided by 1.001, rounded to the places written, is that exact
    fraction: "29.97" gives 30000/1001 and "23.98" gives 24000/1001.

    Raises RateError.
    """
    text = text.strip()
    shown = _shortened(text)
    if not text:
        raise RateError("The frame rate is empty; write frames per second, such as 24 or 12.5.")
    if re.fullmatch(r"[-−]\s*[0-9].*", text):
        raise RateError(f"A frame rate cannot be negative, got “{shown}”; write 24 or 12.5.")
    if match := re.fullmatch(r"([0-9]{1,12})\s*/\s*([0-9]{1,12})", text):
        over, under = int(match[1]), int(match[2])
        if under == 0:
            raise RateError(
                f"A frame rate cannot be divided by 0, got “{shown}”; write 24000/1001."
            )
        rate = Fraction(over, under)
    elif match := re.fullmatch(r"[0-9]{1,12}(?:[.,]([0-9]{1,12}))?", text):
        rate = _exact_rate(Decimal(text.replace(",", ".")), places=len(match[1] or ""))
    else:
        raise RateError(
            f"“{shown}” is not a frame rate; write frames per second as 24, 12.5 or 24000/1001."
        )
    if rate == 0:
        raise RateError("A frame rate must be more than 0; write frames per second, such as 24.")
    if rate > FASTEST_RATE:
        raise RateError(
            f"A frame rate of {shown} is too fast; write {FASTEST_RATE} frames per second or fewer."
        )
    return rate


def rate_label(rate: Fraction) -> str:
    """The rate as people write it: "24", "12.5", "23.976"; a fraction where no decimal is exact."""
    whole = _whole_rate_before_slowing(rate)
    if whole and rate.denominator > 1:
        decimal = Decimal(whole * 1000) / 1001
        return f"{decimal.quantize(Decimal('0.001')):f}".rstrip("0")
    places = next((n for n in range(4) if (rate * 10**n).denominator == 1), None)
    if places is not None:
        decimal = Decimal((rate * 10**places).numerator).scaleb(-places)
        # A rate of exactly 23.98 keeps its fraction, because “23.98” reads back as 24000/1001.
        if _exact_rate(decimal, places) == rate:
            return f"{decimal:f}"
    return f"{rate.numerator}/{rate.denominator}"


def label_rate(rate: Fraction) -> Fraction:
    """Labels per labelled second: 24 at 23.976, and the rate itself where it is no 1001 form.

    Raises RateError for a rate of 0 or less.
    """
    if rate <= 0:
        raise RateError(f"A frame rate must be more than 0, got {rate}; write 24 or 12.5.")
    if rate.denominator == 1:
        return Fraction(rate)
    return Fraction(_whole_rate_before_slowing(rate) or rate)


def counting_base(rate: Fraction) -> int:
    """How many frame labels a second can hold: 24 at 23.976, 30 at 29.97, 13 at 12.5."""
    return ceil(label_rate(rate))


def frames_from_seconds(seconds: Fraction | Decimal | int, rate: Fraction) -> int:
    """Frames in so many true seconds, a half frame rounding up."""
    return floor(Fraction(seconds) * rate + Fraction(1, 2))


def parse_length(text: str, rate: Fraction) -> int:
    """Read a length as a count of frames at `rate`; a bare number is seconds.

    Takes "4.5", "4,5" or "4.5 s", "108 f", "4s06f" or "4 s 06 f", "1:30" (minutes and seconds) and
    "00:00:04:06" (timecode; ";" before the frames means drop-frame, at 29.97 and 59.94 only).

    Raises LengthError for anything else, for no length at all, and for more than 24 hours.
    """
    text = text.strip()
    shown = _shortened(text)
    if not text:
        raise LengthError(f"The length is empty; {_HOW_TO_WRITE_A_LENGTH}.")
    if re.fullmatch(r"[-−]\s*[0-9].*", text):
        raise LengthError(f"A length cannot be negative, got “{shown}”; write it without the sign.")
    frames = None if len(text) > _LONGEST_TEXT else _frames_in(text.lower(), shown, rate)
    if frames is None:
        raise LengthError(f"“{shown}” is not a length; {_HOW_TO_WRITE_A_LENGTH}.")
    if frames == 0:
        raise LengthError(
            f"A length must be at least one frame, got “{shown}”; write 1 f for a single frame."
        )
    if frames > SECONDS_IN_A_DAY * label_rate(rate):
        raise _too_long(shown)
    return frames


def seconds_and_frames(frames: int, rate: Fraction) -> str:
    """A length for people, "4 s 06 f"; a shortfall carries a minus sign, "−0 s 02 f"."""
    seconds, rest = _second_and_frame(abs(frames), rate)
    sign = "−" if frames < 0 else ""
    return f"{sign}{seconds} s {rest:0{_frame_digits(rate)}d} f"


def timecode(frames: int, rate: Fraction, drop_frame: bool = False) -> str:
    """The label of the frame with this index, counted from 0; labels start again after 24 hours.

    Drop-frame (";" before the frames) exists at 29.97 and 59.94 only: two or four labels are
    skipped each minute except every tenth (SMPTE ST 12-1), so that the clock keeps near true time.

    Raises LengthError for a negative index, RateError for drop-frame at another rate.
    """
    if frames < 0:
        raise LengthError(f"Timecode counts up from 0, got frame {frames}.")
    if drop_frame:
        frames += _labels_skipped_before(frames, rate)
    seconds, rest = _second_and_frame(frames, rate)
    seconds %= SECONDS_IN_A_DAY
    clock = f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"
    return f"{clock}{';' if drop_frame else ':'}{rest:0{_frame_digits(rate)}d}"


def frames_from_timecode(text: str, rate: Fraction) -> int:
    """The index, counted from 0, of the frame labelled hh:mm:ss:ff, or hh:mm:ss;ff in drop-frame.

    Raises LengthError for a label that does not exist at this rate.
    """
    match = re.fullmatch(r"([0-9]{1,2}):([0-9]{1,2}):([0-9]{1,2})([:;])([0-9]{1,4})", text.strip())
    if not match:
        raise LengthError(
            f"“{_shortened(text)}” is not a timecode; write hours, minutes, seconds and frames "
            "as 00:00:04:06."
        )
    hours, minutes, seconds, rest = (int(match[part]) for part in (1, 2, 3, 5))
    if hours > 23:
        raise LengthError(
            f"Timecode stops at 23 hours, got {hours} in “{text}”; write a lower hour."
        )
    if minutes > 59 or seconds > 59:
        raise LengthError(
            f"Minutes and seconds in timecode stop at 59, got “{text}”; carry the rest over."
        )
    whole_minutes = 60 * hours + minutes
    labels = _label_index(60 * whole_minutes + seconds, rest, rate)
    if match[4] == ":":
        return labels
    dropped = _dropped_labels(rate)
    if seconds == 0 and rest < dropped and minutes % 10:
        raise LengthError(
            f"Drop-frame timecode skips the label “{text}”: minute {minutes} starts at frame "
            f"{dropped:02d}."
        )
    return labels - dropped * (whole_minutes - whole_minutes // 10)


def _frames_in(text: str, shown: str, rate: Fraction) -> int | None:
    """Frames in a length of any spelling, or None where the text is not a length."""
    if match := re.fullmatch(r"([0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)\s*s?", text):
        return _frames_in_true_seconds(match[1], shown, rate)
    if match := re.fullmatch(r"([0-9]+)\s*f", text):
        return int(match[1])
    if re.fullmatch(r"[0-9]*[.,][0-9]+\s*f", text):
        raise LengthError(f"Frames come whole, got “{shown}”; write 108 f, or seconds as 4.5 s.")
    if match := re.fullmatch(r"([0-9]+)\s*s\s*([0-9]+)\s*f", text):
        return _label_index(int(match[1]), int(match[2]), rate)
    if match := re.fullmatch(r"([0-9]+):([0-9]{1,2}(?:[.,][0-9]+)?)", text):
        seconds = _decimal(match[2])
        if seconds >= 60:
            raise LengthError(
                f"Seconds after minutes stop at 59, got “{shown}”; write one and a half minutes "
                "as 1:30."
            )
        return _frames_in_true_seconds(str(60 * int(match[1]) + seconds), shown, rate)
    if re.fullmatch(r"[0-9]+:[0-9]+:[0-9]+", text):
        raise LengthError(
            f"“{shown}” could be hours or frames; write timecode with all four parts, 00:01:30:00."
        )
    if re.fullmatch(r"[0-9:;]+", text):
        return frames_from_timecode(text, rate)
    return None


def _frames_in_true_seconds(digits: str, shown: str, rate: Fraction) -> int:
    seconds = _decimal(digits)
    if seconds > SECONDS_IN_A_DAY:
        raise _too_long(shown)
    return frames_from_seconds(seconds, rate)


def _too_long(shown: str) -> LengthError:
    return LengthError(f"A length stops at 24 hours, got “{shown}”; {_HOW_TO_WRITE_A_LENGTH}.")


def _decimal(digits: str) -> Decimal:
    return Decimal(digits.replace(",", "."))


def _shortened(text: str) -> str:
    return text if len(text) <= _LONGEST_TEXT else text[: _LONGEST_TEXT - 1] + "…"


def _exact_rate(value: Decimal, places: int) -> Fraction:
    """The fraction a decimal rate stands for; two places or more may be a rounded 1001 form."""
    if 2 <= places <= 9 and value < 240:
        slowed = Fraction(ceil(value) * 1000, 1001)
        exact = Decimal(slowed.numerator) / slowed.denominator
        if exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP) == value:
            return slowed
    return Fraction(value)


def _whole_rate_before_slowing(rate: Fraction) -> int | None:
    """24 for 24000/1001 and so on; None where the rate is no whole rate divided by 1.001."""
    whole = rate * Fraction(1001, 1000)
    return whole.numerator if whole.denominator == 1 else None


def _frame_digits(rate: Fraction) -> int:
    return max(2, len(str(counting_base(rate) - 1)))


def _second_and_frame(labels: int, rate: Fraction) -> tuple[int, int]:
    """Split a label index; at 12.5 the seconds hold 13 and 12 frames in turn, so they stay true."""
    base = label_rate(rate)
    seconds = floor(labels / base)
    return seconds, labels - ceil(seconds * base)


def _label_index(seconds: int, rest: int, rate: Fraction) -> int:
    base = label_rate(rate)
    start = ceil(seconds * base)
    room = ceil((seconds + 1) * base) - start
    if rest >= room:
        raise LengthError(
            f"A second at {rate_label(rate)} frames per second has frames 00 to {room - 1:02d}, "
            f"got frame {rest}; carry the rest over to the seconds."
        )
    return start + rest


def _dropped_labels(rate: Fraction) -> int:
    if rate not in _DROPPED_LABELS:
        raise RateError(
            f"Drop-frame timecode exists at 29.97 and 59.94 only, got {rate_label(rate)}; "
            "write “:” before the frames."
        )
    return _DROPPED_LABELS[rate]


def _labels_skipped_before(frames: int, rate: Fraction) -> int:
    dropped = _dropped_labels(rate)
    minute = 60 * counting_base(rate) - dropped
    ten_minutes = 10 * minute + dropped
    tens, rest = divmod(frames, ten_minutes)
    # The first minute of each ten is the long one; without the guard its first frames count -1.
    minutes_skipped = (rest - dropped) // minute if rest >= dropped else 0
    return dropped * (9 * tens + minutes_skipped)
