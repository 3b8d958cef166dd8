"""The camera report: the record of one session."""

from dataclasses import dataclass

from reportlab.platypus import Flowable

from studio.documents.paper import ruled_table, sheet, text_width, words


@dataclass(frozen=True)
class ShotTaken:
    """What was photographed of one shot. `pictures` names the range, such as "0121 to 0168"."""

    shot: str
    setup: str
    pictures: str
    kept: int
    discarded: int
    note: str = ""


@dataclass(frozen=True)
class Incident:
    """Something that went wrong: `time` and `frame` as people read them, empty if unknown."""

    what: str
    shot: str = ""
    frame: str = ""
    time: str = ""


@dataclass(frozen=True)
class PictureFlagged:
    """A picture to look at, and why."""

    picture: str
    shot: str
    reason: str


@dataclass(frozen=True)
class LockCard:
    """What was locked in one set-up, as used: (name, value) pairs in the order to print."""

    setup: str
    locked: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class CameraReport:
    """One session. Dates, hours and names come as they are to be read.

    `flagged` is None where no pictures were checked.
    """

    production: str
    date: str
    hours: str
    people: str
    taken: tuple[ShotTaken, ...]
    lock_cards: tuple[LockCard, ...] = ()
    incidents: tuple[Incident, ...] = ()
    flagged: tuple[PictureFlagged, ...] | None = None
    notes: str = ""


def camera_report(report: CameraReport, paper: str) -> bytes:
    """The report as PDF. Raises `ValueError` for an unknown paper size."""
    width = text_width(paper)
    facts = (("Hours", report.hours), ("People", report.people))
    story: list[Flowable] = [
        words(f"Camera report, {report.date}", "title"),
        _table([[name, value] for name, value in facts if value], (0.25, 0.75), width, header=0),
        words("Shots", "heading"),
        *_taken(report, width),
    ]
    for card in report.lock_cards:
        story.append(words(f"Lock card as used: {card.setup}", "heading"))
        story.append(_table([list(pair) for pair in card.locked], (0.25, 0.75), width, header=0))
    story.append(words("Incidents", "heading"))
    story += _rows_or(
        "None written down.",
        ("Time", "Shot", "Frame", "What happened"),
        [[row.time, row.shot, row.frame, row.what] for row in report.incidents],
        (0.12, 0.14, 0.12, 0.62),
        width,
    )
    story.append(words("Pictures flagged", "heading"))
    story += _rows_or(
        "No pictures were checked." if report.flagged is None else "None.",
        ("Picture", "Shot", "Why"),
        [[row.picture, row.shot, row.reason] for row in report.flagged or ()],
        (0.24, 0.14, 0.62),
        width,
    )
    if report.notes:
        story += [words("Notes", "heading"), words(report.notes)]
    title = f"{report.production} · camera report"
    return sheet(story, title, paper, f"{report.production} · {report.date}")


def _taken(report: CameraReport, width: float) -> list[Flowable]:
    rows = [
        [row.shot, row.setup, row.pictures, str(row.kept), str(row.discarded), row.note]
        for row in report.taken
    ]
    if rows:
        kept, discarded = (
            sum(row.kept for row in report.taken),
            sum(row.discarded for row in report.taken),
        )
        rows.append(["All", "", "", str(kept), str(discarded), ""])
    return _rows_or(
        "Nothing was photographed in this session.",
        ("Shot", "Set-up", "Pictures", "Kept", "Discarded", "Note"),
        rows,
        (0.11, 0.17, 0.22, 0.09, 0.13, 0.28),
        width,
        right=(3, 4),
    )


def _rows_or(
    nothing: str,
    heads: tuple[str, ...],
    rows: list[list[str]],
    shares: tuple[float, ...],
    width: float,
    right: tuple[int, ...] = (),
) -> list[Flowable]:
    """A table under its heads, or a sentence where there are no rows."""
    if not rows:
        return [words(nothing)]
    return [_table([list(heads), *rows], shares, width, header=1, right=right)]


def _table(rows, shares, width, header, right=()) -> Flowable:
    return ruled_table(rows, [share * width for share in shares], header, right)
