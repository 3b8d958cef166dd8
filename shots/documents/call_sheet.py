"""The call sheet: one day's plan, on one page where the day is an ordinary one."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import zip_longest

from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, Paragraph, Spacer, Table
from reportlab.platypus.tables import TableStyle

from studio.documents.charts import StripChart
from studio.documents.paper import (
    BOLD,
    FAINT,
    HAIRLINE,
    INK,
    TickBox,
    mixed,
    ruled_table,
    sheet,
    styles,
    text_width,
)
from studio.trade.strip import Strip


@dataclass(frozen=True)
class Called:
    """Somebody called, and when."""

    call: str
    name: str
    job: str = ""
    phone: str = ""


@dataclass(frozen=True)
class ToTake:
    """A shot to shoot: pictures to take, length on screen, exposure in words."""

    shot: str
    pictures: int
    length: str
    exposure: str
    description: str = ""


@dataclass(frozen=True)
class SetupBlock:
    """A set-up, what is locked in it, its lamps against the circuit, and the shots taken in it."""

    code: str
    name: str
    shots: tuple[ToTake, ...]
    locked: str = ""
    lamps: str = ""
    load: str = ""
    is_over_load: bool = False

    @property
    def title(self) -> str:
        """What stands above its shots; no code means no set-up was chosen."""
        return f"Set-up {self.code} {self.name}".strip() if self.code else "No set-up chosen"


@dataclass(frozen=True)
class DayPlan:
    """One day of one production, in the words and figures that are read."""

    production: str
    code: str
    studio: str
    date: str
    week: str
    number: str
    call: str
    wrap: str
    people: tuple[Called, ...]
    place: str
    directions: str
    emergency_care: str
    setups: tuple[SetupBlock, ...]
    targets: str
    strip: Strip
    standing: str
    checks: tuple[str, ...]
    cautions: tuple[tuple[str, str], ...]
    notes: str = ""
    issue: str = ""
    changes: tuple[str, ...] = ()


def call_sheet(plan: DayPlan, paper: str) -> bytes:
    """The call sheet as PDF. Raises PaperError for an unknown paper size."""
    width = text_width(paper)
    story: list[Flowable] = [
        _head(plan, width),
        *([_labelled("Changed:", " ".join(plan.changes))] if plan.changes else []),
        *_people(plan, width),
        _place(plan, width),
        *_shots(plan, width),
        *_standing(plan, width),
        *_checks(plan, width),
        *_cautions(plan),
    ]
    title = f"Call sheet {plan.code}, {plan.date}"
    return sheet(story, title, paper, plan.studio, author=plan.studio)


@cache
def _styles() -> dict[str, ParagraphStyle]:
    """The house styles, set tighter: the day has to fit on one page."""
    house = styles()
    tight = ParagraphStyle("tight", house["cell"], fontSize=8, leading=9.8)
    every = (
        tight,
        ParagraphStyle("title", house["title"], fontSize=15, leading=18, spaceAfter=0),
        ParagraphStyle(
            "hour", house["title"], fontSize=14, leading=17, spaceAfter=0, alignment=TA_RIGHT
        ),
        ParagraphStyle("figure", tight, alignment=TA_RIGHT),
        ParagraphStyle("heading", tight, fontName=BOLD, fontSize=9.5, leading=12, spaceBefore=5),
        ParagraphStyle("fine", tight, fontSize=7.4, leading=8.8),
    )
    return {style.name: style for style in every}


def _line(text: str, style: str = "tight") -> Paragraph:
    return Paragraph(mixed(text), _styles()[style])


def _labelled(label: str, text: str, style: str = "tight") -> Paragraph:
    return Paragraph(f"<b>{mixed(label)}</b> {mixed(text)}", _styles()[style])


def _heading(text: str, room: float = 22 * mm) -> list[Flowable]:
    """A heading that never ends a page."""
    return [CondPageBreak(room), _line(text, "heading")]


def _tight(
    rows: Sequence[Sequence[str | Flowable]],
    shares: Sequence[float],
    width: float,
    right: Sequence[int] = (),
) -> Table:
    """A ruled table in the tight style, its heads repeated on every page."""
    heads, *body = rows
    cells = [[_line(cell) if isinstance(cell, str) else cell for cell in row] for row in body]
    table = ruled_table([heads, *cells], [share * width for share in shares], right=right)
    table.setStyle(
        TableStyle([("TOPPADDING", (0, 0), (-1, -1), 1), ("BOTTOMPADDING", (0, 0), (-1, -1), 2)])
    )
    return table


def _columns(rows: Sequence[Sequence[object]], widths: Sequence[float], rules=()) -> Table:
    """Columns without rules of their own and without padding at the left edge."""
    plain = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 6),
        ("TOPPADDING", (0, 0), (-1, -1), 1),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 1),
    ]
    return Table(rows, widths, style=TableStyle([*plain, *rules]), hAlign="LEFT", splitInRow=1)


def _head(plan: DayPlan, width: float) -> Table:
    left = [
        _line(plan.production, "title"),
        _line(f"{plan.number} · {plan.date} · {plan.week}", "heading"),
    ]
    if plan.issue:
        left.append(_line(plan.issue))
    right = [_line(f"Call {plan.call}", "hour"), _line(f"Wrap {plan.wrap}", "hour")]
    rules = [
        ("LINEBELOW", (0, 0), (-1, -1), 1, INK),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 4),
        ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
    ]
    return _columns([[left, right]], [0.66 * width, 0.34 * width], rules)


def _people(plan: DayPlan, width: float) -> list[Flowable]:
    if not plan.people:
        return [_line("Nobody is called yet.", "heading")]
    rows = [("Call", "Who", "Job", "Phone")]
    rows += [(one.call, one.name, one.job, one.phone) for one in plan.people]
    return [_tight(rows, (0.1, 0.36, 0.3, 0.24), width)]


def _place(plan: DayPlan, width: float) -> Table:
    """Where, how to get there, and where help is: an empty one is said, not left out."""
    cells = (
        ("Place", plan.place or "not written down yet"),
        ("How to get there", plan.directions or "not written down yet"),
        ("Nearest emergency care", plan.emergency_care or "NOT WRITTEN DOWN YET: find it out now"),
    )
    rules = [("LINEBELOW", (0, 0), (-1, -1), HAIRLINE, FAINT)]
    row = [_labelled(f"{label}:", text) for label, text in cells]
    return _columns([row], [width / 3] * 3, rules)


def _shots(plan: DayPlan, width: float) -> list[Flowable]:
    story: list[Flowable] = []
    for setup in plan.setups:
        story += _heading(setup.title, room=32 * mm)
        if setup.locked:
            story.append(_labelled("Locked:", setup.locked))
        lamps = setup.lamps or "none written down yet"
        story.append(_labelled("Lamps:", f"{lamps}. {setup.load}".strip()))
        shot = f"{setup.code} · shot" if setup.code else "Shot"
        rows = [(shot, "Pictures", "Length", "On", "What happens", "Kept")]
        rows += [
            (one.shot, _line(str(one.pictures), "figure"), one.length, one.exposure,
             one.description, "")
            for one in setup.shots
        ]  # fmt: skip
        story.append(_tight(rows, (0.13, 0.09, 0.11, 0.09, 0.49, 0.09), width, right=[1]))
    if not plan.setups:
        story += _heading("No shots are chosen for this day.", room=0)
    story += [Spacer(0, 4), _labelled("Target:", plan.targets)]
    if plan.notes:
        story += [Spacer(0, 2), _labelled("Notes:", plan.notes)]
    return story


class _LowStrip(StripChart):
    """The film strip, low enough for a page that holds a whole day."""

    BAR = 5.5 * mm


def _standing(plan: DayPlan, width: float) -> list[Flowable]:
    strip = _LowStrip(plan.strip, width)
    strip.spaceAfter = 1
    return [*_heading("Where the film stands"), strip, _line(plan.standing)]


def _checks(plan: DayPlan, width: float) -> list[Flowable]:
    if not plan.checks:
        return []
    box = 4.5 * mm
    cells = [(TickBox(size=2.8 * mm), _line(check)) for check in plan.checks]
    pairs = zip_longest(cells[::2], cells[1::2], fillvalue=("", ""))
    rows = [[*left, *right] for left, right in pairs]
    table = _columns(rows, [box, width / 2 - box] * 2)
    return [*_heading("Before the first picture"), table]


def _cautions(plan: DayPlan) -> list[Flowable]:
    return [
        *_heading("Take care"),
        *(_labelled(f"{about}.", text, "fine") for about, text in plan.cautions),
    ]
