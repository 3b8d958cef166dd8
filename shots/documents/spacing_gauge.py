"""The spacing gauge: a move at full size, to cut out and stand beside the puppet.

Lengths here are in mm unless they are handed to the canvas, which counts points.
"""

from dataclasses import dataclass
from io import BytesIO
from math import ceil, cos, radians, sin

from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from shots.trade.easing import WORDS
from shots.trade.spacing import UNITS, Move, Position, positions
from studio.documents.paper import (
    BOLD,
    FAINT,
    HAIRLINE,
    INK,
    REGULAR,
    draw_line,
    paper_size,
    register_fonts,
)

MARGIN = 14.0  # wider than what a printer leaves white
HEAD = 16.0  # title and the line under it
FOOT = 22.0  # check line and caution
OVERLAP = 12.0  # shared by two strips that are joined
STRIP_HEIGHT = 34.0
STRIP_PITCH = 42.0
MOST_STRIPS = 24
TICK = {"start": 9.0, "move": 9.0, "back": 17.0, "settle": 25.0}
LEVELS = (("start", "move"), ("back",), ("settle",))  # legs whose ticks are equally tall
NUMBER_SIZE = 7.0
NUMBER_ROWS = (0.0, 2.8)  # mm beyond a tick; the second where the first has no room
LEG_WORDS = {"back": "anticipation", "move": "move", "settle": "settling"}
CAUTION = (
    "Print at 100 %, never “fit to page”. Measure the line before cutting: it must be 100 mm "
    "long, within 1 mm."
)


@dataclass(frozen=True)
class SpacingGauge:
    """A gauge to print: `title` names shot and move. An angle is drawn at `radius` mm."""

    title: str
    move: Move
    radius: float = 80.0


def spacing_gauge(gauge: SpacingGauge, paper: str) -> bytes:
    """The gauge at 1:1 on landscape sheets, then the table of positions.

    A straight gauge too long for the paper is split into strips with registration marks. Raises
    `ValueError` for more strips than anyone would join, for an arc beyond the paper or beyond one
    whole turn, and for an unknown paper.
    """
    height, width = (side / mm for side in paper_size(paper))
    register_fonts()
    rows = positions(gauge.move)
    if gauge.move.unit == "degrees":
        pages = [_arc(gauge, rows, width, height)]
    else:
        pages = _straight(rows, width, height)
    pages += _table(gauge.move, rows, width, height)

    out = BytesIO()
    canvas = Canvas(out, pagesize=(width * mm, height * mm), invariant=1, lang="en")
    canvas.setTitle(gauge.title)
    for number, draw in enumerate(pages, start=1):
        _frame(canvas, gauge, width, height, f"page {number} of {len(pages)}")
        draw(canvas)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _frame(canvas: Canvas, gauge: SpacingGauge, width: float, height: float, page: str) -> None:
    canvas.setFillColor(INK)
    room = (width - 2 * MARGIN) * mm
    draw_line(canvas, MARGIN * mm, (height - MARGIN - 4) * mm, gauge.title, 13, room - 30 * mm)
    canvas.setFont(REGULAR, 8)
    canvas.drawRightString((width - MARGIN) * mm, (height - MARGIN - 4) * mm, page)
    canvas.setFillColor(FAINT)
    draw_line(canvas, MARGIN * mm, (height - MARGIN - 9.5) * mm, _asked(gauge), 8.5, room)
    _check_line(canvas, MARGIN + 8)


def _asked(gauge: SpacingGauge) -> str:
    move = gauge.move
    travel = f"{move.travel:g}°" if move.unit == "degrees" else f"{move.travel:g} mm"
    words = [f"{travel} in {move.pictures} pictures", WORDS[move.ease]]
    words += [
        f"{name} {share:.0%}"
        for name, share in (("anticipation", move.anticipation), ("overshoot", move.overshoot))
        if share
    ]
    if move.unit == "degrees":
        words.append(f"radius {gauge.radius:g} mm")
    return " · ".join(words)


def _check_line(canvas: Canvas, y: float) -> None:
    canvas.setStrokeColor(INK)
    canvas.setFillColor(INK)
    canvas.setLineWidth(HAIRLINE)
    start, end = MARGIN * mm, (MARGIN + 100) * mm
    canvas.line(start, y * mm, end, y * mm)
    for x in (start, end):
        canvas.line(x, (y - 2) * mm, x, (y + 2) * mm)
    draw_line(canvas, end + 3 * mm, y * mm - 2.5, "100 mm", 8, 30 * mm)
    draw_line(canvas, start, (y - 6) * mm, CAUTION, 8, 250 * mm)


# --- straight: strips of a ruler ---


def _straight(rows: tuple[Position, ...], width: float, height: float) -> list:
    first = min(row.position for row in rows)
    span = max(row.position for row in rows) - first
    room = width - 2 * MARGIN - 6  # numbers at the ends reach 3 mm out
    strips = 1 if span <= room else ceil((span - OVERLAP) / (room - OVERLAP))
    if strips > MOST_STRIPS:
        raise ValueError(
            f"A gauge {span / 1000:.2f} m long takes {strips} strips of paper, and "
            f"{MOST_STRIPS} are the most that can be joined with care. Split the move."
        )
    a_page = max(1, int((height - 2 * MARGIN - HEAD - FOOT + 8) // STRIP_PITCH))

    def page(strip_numbers):
        def draw(canvas):
            for place, number in enumerate(strip_numbers):
                top = height - MARGIN - HEAD - place * STRIP_PITCH
                start = first + number * (room - OVERLAP)
                end = min(start + room, first + span)
                joins = (number > 0, number < strips - 1)
                edge = top - STRIP_HEIGHT
                _strip(canvas, rows, (start, end), edge, number, joins)
                if strips > 1:
                    words = f"strip {number + 1} of {strips}: lay equal joins over each other"
                    draw_line(canvas, (MARGIN + 3) * mm, (edge - 3.5) * mm, words, 7, 200 * mm)

        return draw

    numbers = range(strips)
    return [page(numbers[at : at + a_page]) for at in range(0, strips, a_page)]


def _strip(
    canvas: Canvas,
    rows: tuple[Position, ...],
    between: tuple[float, float],
    edge: float,
    number: int,
    joins: tuple[bool, bool],
) -> None:
    """One strip whose lower edge, cut along, stands by the puppet; `between` positions in mm."""
    start, end = between
    left = MARGIN + 3

    def x(position: float) -> float:
        return (left + position - start) * mm

    canvas.setStrokeColor(INK)
    canvas.setFillColor(INK)
    canvas.setLineWidth(HAIRLINE)
    canvas.line(x(start), edge * mm, x(end), edge * mm)
    seen = [row for row in rows if start - 1e-6 <= row.position <= end + 1e-6]
    for legs in LEVELS:
        ticks = [row for row in seen if row.leg in legs]
        top = edge + TICK[legs[0]]
        canvas.setDash(*(() if "move" in legs else (1, 1.5)))
        for row in ticks:
            canvas.line(x(row.position), edge * mm, x(row.position), top * mm)
        canvas.setDash()
        _numbers(canvas, [(x(row.position), row.picture) for row in ticks], (top + 0.8) * mm)
    for joined, at, label in (
        (joins[0], start + OVERLAP / 2, number),
        (joins[1], end - OVERLAP / 2, number + 1),
    ):
        if joined:
            _registration(canvas, x(at), (edge + STRIP_HEIGHT - 4) * mm, label)


def _numbers(canvas: Canvas, ticks: list[tuple[float, int]], y: float) -> None:
    """Picture numbers over their ticks; the last and those with room."""
    canvas.setFont(REGULAR, NUMBER_SIZE)
    taken: list[tuple[float, float, float]] = []
    for x, picture in [*ticks[-1:], *ticks[:-1]]:
        left, right = _number_box(x, picture)
        for row in NUMBER_ROWS:
            if all(right <= low or left >= high for low, high, at in taken if at == row):
                canvas.drawCentredString(x, y + row * mm, str(picture))
                taken.append((left, right, row))
                break


def _number_box(x: float, picture: int) -> tuple[float, float]:
    half = stringWidth(str(picture), REGULAR, NUMBER_SIZE) / 2 + 0.6
    return x - half, x + half


def _registration(canvas: Canvas, x: float, y: float, label: int) -> None:
    """A mark to lay over the one of the same number on the next strip, the edges in line."""
    canvas.circle(x, y, 1.2 * mm)
    canvas.line(x - 2 * mm, y, x + 2 * mm, y)
    canvas.line(x, y - 2 * mm, x, y + 2 * mm)
    canvas.setFont(BOLD, NUMBER_SIZE)
    canvas.drawString(x + 2.6 * mm, y - 2, f"join {label}")


# --- angles: an arc round a pivot ---


def _arc(gauge: SpacingGauge, rows: tuple[Position, ...], width: float, height: float):
    first = min(row.position for row in rows)
    span = max(row.position for row in rows) - first
    if span > 360:
        raise ValueError(
            f"An arc shows at most one turn of 360°; this move reaches over {span:g}°. "
            "Split it at whole turns."
        )
    room = height - 2 * MARGIN - HEAD - FOOT
    below = -cos(radians(span / 2)) if span > 180 else 0.0  # the arc's ends under the pivot
    largest = (room - 6) / (1 + below)
    if not 20 <= gauge.radius <= largest:
        raise ValueError(
            f"On this paper the radius of {span:g}° goes from 20 to {largest:.0f} mm; "
            f"got {gauge.radius:g}."
        )
    radius = gauge.radius
    pivot_x, pivot_y = width / 2, height - MARGIN - HEAD - radius - 2

    def point(position: float, distance: float) -> tuple[float, float]:
        angle = radians(90 + span / 2 - (position - first))
        return (pivot_x + distance * cos(angle)) * mm, (pivot_y + distance * sin(angle)) * mm

    def draw(canvas: Canvas) -> None:
        canvas.setStrokeColor(INK)
        canvas.setFillColor(INK)
        canvas.setLineWidth(HAIRLINE)
        x, y, reach = pivot_x * mm, pivot_y * mm, radius * mm
        canvas.arc(x - reach, y - reach, x + reach, y + reach, 90 - span / 2, span)
        canvas.line(x - 3 * mm, y, x + 3 * mm, y)
        canvas.line(x, y - 3 * mm, x, y + 3 * mm)
        draw_line(canvas, x + 4 * mm, y + 1 * mm, "pivot", 7, 30 * mm)
        canvas.setFillColor(INK)
        scale = min(1.0, radius / 45)
        for legs in LEVELS:
            ticks = [row for row in rows if row.leg in legs]
            inner = radius - TICK[legs[0]] * scale
            canvas.setDash(*(() if "move" in legs else (1, 1.5)))
            for row in ticks:
                canvas.line(*point(row.position, radius), *point(row.position, inner))
            canvas.setDash()
            _numbers_on_arc(canvas, ticks, point, inner - 1.8)

    return draw


def _numbers_on_arc(canvas: Canvas, ticks: list[Position], point, distance: float) -> None:
    canvas.setFont(REGULAR, NUMBER_SIZE)
    taken: list[tuple[float, float]] = []
    for row in [*ticks[-1:], *ticks[:-1]]:
        apart = stringWidth(str(row.picture), REGULAR, NUMBER_SIZE) + 1.5
        for further in NUMBER_ROWS:
            x, y = point(row.position, distance - further)
            if all(abs(x - other) >= apart or abs(y - level) >= 6 for other, level in taken):
                canvas.drawCentredString(x, y - 2, str(row.picture))
                taken.append((x, y))
                break


# --- the table ---


def _table(move: Move, rows: tuple[Position, ...], width: float, height: float) -> list:
    line, column = 4.2, 44.0
    lines = int((height - 2 * MARGIN - HEAD - FOOT - line) // line)
    columns = int((width - 2 * MARGIN) // column)
    unit = UNITS[move.unit]

    def page(part):
        def draw(canvas):
            for place in range(0, len(part), lines):
                left = MARGIN + place // lines * column
                _table_column(canvas, part[place : place + lines], left, height, line, unit)

        return draw

    return [page(rows[at : at + lines * columns]) for at in range(0, len(rows), lines * columns)]


def _table_column(canvas: Canvas, rows, left: float, height: float, line: float, unit: str) -> None:
    edges = (left + 9, left + 23, left + 37)
    y = height - MARGIN - HEAD - 2
    canvas.setFillColor(INK)
    canvas.setFont(BOLD, 7)
    for edge, head in zip(edges, ("picture", f"at {unit}", f"step {unit}"), strict=True):
        canvas.drawRightString(edge * mm, y * mm, head)
    canvas.setStrokeColor(FAINT)
    canvas.setLineWidth(HAIRLINE)
    canvas.line(left * mm, (y - 1.2) * mm, (left + 37) * mm, (y - 1.2) * mm)
    leg = None
    for row in rows:
        y -= line
        canvas.setFont(REGULAR, 7)
        canvas.drawRightString(edges[0] * mm, y * mm, str(row.picture))
        canvas.drawRightString(edges[1] * mm, y * mm, f"{row.position:.2f}")
        if row.leg != "start":
            canvas.drawRightString(edges[2] * mm, y * mm, f"{row.increment:+.2f}")
        if row.leg != leg and row.leg in LEG_WORDS:
            canvas.setFont(REGULAR, 4.5)
            canvas.drawString((edges[2] + 0.6) * mm, y * mm, LEG_WORDS[row.leg])
        leg = row.leg
