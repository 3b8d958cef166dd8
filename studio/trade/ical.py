"""Calendar feeds as text: all-day events in iCalendar form (RFC 5545)."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

PRODUCT = "-//Stillcount//Plan//EN"
LINE_OCTETS = 75  # RFC 5545 3.1, without the line break


@dataclass(frozen=True)
class DayEvent:
    """Whole days from `first` to `last`, both included.

    `uid` must stay the same for the same event, so that calendars move it and do not double it.
    `busy` blocks the days for other appointments.
    """

    uid: str
    first: date
    last: date
    summary: str
    description: str = ""
    busy: bool = True

    def __post_init__(self):
        if self.last < self.first:
            raise ValueError(
                f"“{self.summary}” ends {self.last} before it starts {self.first}: swap the dates."
            )


def calendar_text(name: str, events: Iterable[DayEvent], stamp: datetime) -> str:
    """The feed named `name`, with CRLF line ends and lines folded at 75 octets.

    `stamp` is when it was made; it must carry a time zone.
    """
    if stamp.tzinfo is None:
        raise ValueError(f"A calendar's time stamp must carry a time zone; {stamp} has none.")
    stamped = stamp.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:{PRODUCT}",
        f"X-WR-CALNAME:{_text(name)}",
    ]
    for event in events:
        lines += _event_lines(event, stamped)
    lines.append("END:VCALENDAR")
    return "".join(_folded(line) + "\r\n" for line in lines)


def _event_lines(event: DayEvent, stamped: str) -> list[str]:
    # RFC 5545 3.6.1: the end of an all-day event is the day after its last
    end = event.last + timedelta(days=1)
    lines = [
        "BEGIN:VEVENT",
        f"UID:{_text(event.uid)}",
        f"DTSTAMP:{stamped}",
        f"DTSTART;VALUE=DATE:{event.first:%Y%m%d}",
        f"DTEND;VALUE=DATE:{end:%Y%m%d}",
        f"SUMMARY:{_text(event.summary)}",
        f"TRANSP:{'OPAQUE' if event.busy else 'TRANSPARENT'}",
    ]
    if event.description:
        lines.append(f"DESCRIPTION:{_text(event.description)}")
    return [*lines, "END:VEVENT"]


def _text(value: str) -> str:
    """A TEXT value (RFC 5545 3.3.11): escaped, line breaks as \\n, control characters left out."""
    value = re.sub(r"\r\n?", "\n", value)
    value = re.sub(r"[\x00-\x08\x0b-\x1f\x7f]", "", value)
    for plain, escaped in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
        value = value.replace(plain, escaped)
    return value


def _folded(line: str) -> str:
    """The line in pieces of at most 75 octets, no character split (RFC 5545 3.1)."""
    pieces, piece, octets = [], "", 0
    for character in line:
        size = len(character.encode())
        if octets + size > LINE_OCTETS:
            pieces.append(piece)
            piece, octets = "", 1  # the space that marks a continued line counts
        piece += character
        octets += size
    return "\r\n ".join([*pieces, piece])
