"""The exposure sheet: one ruled line per frame, to read and write beside the camera."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from io import BytesIO

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from shots.trade.beats import SheetLine
from studio.documents.paper import (
    BOLD,
    FAINT,
    HAIRLINE,
    INK,
    REGULAR,
    draw_line,
    line_width,
    paper_size,
    register_fonts,
)
from studio.trade.timecode import counting_base, rate_label, seconds_and_frames, timecode

MARGIN = 12 * mm
HEAD = 17 * mm
COLUMN_HEAD = 6 * mm
TALLEST, SHORTEST = 6.2 * mm, 4.5 * mm
TEXT = 7
# Heads and shares of the width; action, dialogue, camera and light leave room for handwriting.
COLUMNS = (
    ("frame", 0.065),
    ("timecode", 0.105),
    ("action", 0.27),
    ("dialogue", 0.17),
    ("camera", 0.115),
    ("light", 0.115),
    ("picture", 0.085),
    ("held", 0.075),
)


@dataclass(frozen=True)
class ExposureSheet:
    """A shot's lines at its production's `rate` in frames per second.

    `first_frame` is the frame of the timecode count the shot starts at.
    """

    production: str
    shot: str
    setup: str
    rate: Fraction
    exposure: int
    lines: Sequence[SheetLine]
    first_frame: int = 0
    drop_frame: bool = False


def exposure_sheet(sheet: ExposureSheet, paper: str) -> bytes:
    """The sheet with a heavy rule at every second; pages break at whole seconds where they can.

    Raises `ValueError` for an unknown paper size.
    """
    width, height = paper_size(paper)
    register_fonts()
    room = height - 2 * MARGIN - HEAD - COLUMN_HEAD
    rows = _rows_a_page(room, counting_base(sheet.rate))
    pitch = min(TALLEST, room / rows)
    edges = _edges(width)
    pages = [sheet.lines[at : at + rows] for at in range(0, len(sheet.lines), rows)] or [()]
    action, dialogue = (
        _flowing([getattr(line, name) for line in sheet.lines], edges[at + 1] - edges[at] - 4)
        for at, name in ((2, "action"), (3, "dialogue"))
    )

    out = BytesIO()
    canvas = Canvas(out, pagesize=(width, height), invariant=1, lang="en")
    canvas.setTitle(f"Exposure sheet {sheet.shot}")
    for number, lines in enumerate(pages):
        top = height - MARGIN - HEAD
        _head(canvas, sheet, width, height, f"page {number + 1} of {len(pages)}")
        _columns(canvas, edges, top, top - COLUMN_HEAD - pitch * len(lines))
        y = top - COLUMN_HEAD
        for index, line in enumerate(lines, start=number * rows):
            words = (action[index], dialogue[index])
            _line(canvas, sheet, line, words, edges, y, pitch)
            y -= pitch
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _rows_a_page(room: float, a_second: int) -> int:
    fitting = int(room // SHORTEST)
    return fitting // a_second * a_second or fitting


def _edges(width: float) -> list[float]:
    edges = [MARGIN]
    for _, share in COLUMNS:
        edges.append(edges[-1] + share * (width - 2 * MARGIN))
    return edges


def _flowing(texts: list[str], room: float) -> list[str]:
    """Words too wide for their line run on over the empty lines below."""
    flowing, rest = [], ""
    for text in texts:
        words = (text or rest).split()
        fits = len(words)
        while fits > 1 and line_width(" ".join(words[:fits]), TEXT) > room:
            fits -= 1
        flowing.append(" ".join(words[:fits]))
        rest = " ".join(words[fits:])
    return flowing


def _head(canvas: Canvas, sheet: ExposureSheet, width: float, height: float, page: str) -> None:
    canvas.setFillColor(INK)
    room = width - 2 * MARGIN
    draw_line(canvas, MARGIN, height - MARGIN - 5 * mm, f"Shot {sheet.shot}", 14, room - 40 * mm)
    canvas.setFont(REGULAR, 8)
    canvas.drawRightString(width - MARGIN, height - MARGIN - 5 * mm, page)
    canvas.setFillColor(FAINT)
    about = [sheet.production, f"set-up {sheet.setup}" if sheet.setup else ""]
    about += [f"{rate_label(sheet.rate)} frames a second", _exposure_words(sheet.exposure)]
    if sheet.lines:
        about.append(seconds_and_frames(len(sheet.lines), sheet.rate))
    words = " · ".join(filter(None, about))
    draw_line(canvas, MARGIN, height - MARGIN - 11 * mm, words, 8, room)


def _exposure_words(exposure: int) -> str:
    named = {1: "on ones", 2: "on twos", 3: "on threes", 4: "on fours"}
    return named.get(exposure, f"{exposure} frames a picture")


def _columns(canvas: Canvas, edges: list[float], top: float, bottom: float) -> None:
    canvas.setFillColor(INK)
    canvas.setFont(BOLD, TEXT)
    for (head, _), left in zip(COLUMNS, edges, strict=False):
        canvas.drawString(left + 2, top - COLUMN_HEAD + 4, head)
    canvas.setStrokeColor(FAINT)
    canvas.setLineWidth(HAIRLINE)
    canvas.lines([(edge, top, edge, bottom) for edge in edges])
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(1)
    canvas.line(edges[0], top - COLUMN_HEAD, edges[-1], top - COLUMN_HEAD)


def _line(
    canvas: Canvas,
    sheet: ExposureSheet,
    line: SheetLine,
    words: tuple[str, str],
    edges: list[float],
    y: float,
    pitch: float,
) -> None:
    """One frame between the rules at `y` and `y - pitch`."""
    count = sheet.first_frame + line.frame - 1
    label = timecode(count, sheet.rate, sheet.drop_frame)
    starts_second = count == 0 or label[:8] != timecode(count - 1, sheet.rate, sheet.drop_frame)[:8]
    base = y - pitch / 2 - TEXT * 0.35
    canvas.setFillColor(INK)
    canvas.setFont(BOLD if starts_second else REGULAR, TEXT)
    canvas.drawRightString(edges[1] - 3, base, str(line.frame))
    canvas.drawRightString(edges[2] - 3, base, label)
    for at, text in zip((2, 3), words, strict=True):
        if text:
            draw_line(canvas, edges[at] + 2, base, text, TEXT, edges[at + 1] - edges[at] - 4)
    _picture(canvas, line, edges, y, base, pitch)
    canvas.setStrokeColor(INK if starts_second else FAINT)
    canvas.setLineWidth(1.1 if starts_second else HAIRLINE)
    canvas.line(edges[0], y, edges[-1], y)
    canvas.setStrokeColor(FAINT)
    canvas.setLineWidth(HAIRLINE)
    canvas.line(edges[0], y - pitch, edges[-1], y - pitch)


def _picture(
    canvas: Canvas, line: SheetLine, edges: list[float], y: float, base: float, pitch: float
) -> None:
    """The picture's number where it is first seen, a stroke down its repeats, and how long."""
    middle = (edges[6] + edges[7]) / 2
    canvas.setFont(BOLD, TEXT)
    if line.repeat == 1:
        if line.picture:
            canvas.drawCentredString(middle, base, str(line.picture))
        if line.mark:
            canvas.drawString(edges[7] + 2, base, line.mark)
        elif line.repeats > 1:
            canvas.setFont(REGULAR, TEXT)
            canvas.drawString(edges[7] + 2, base, f"× {line.repeats}")
    else:
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.8)
        canvas.setDash(*((1.5, 2) if line.mark == "reuse" else ()))
        canvas.line(middle, y - 1, middle, y - pitch + (2 if line.repeat == line.repeats else -1))
        canvas.setDash()
        if line.repeat == line.repeats:
            canvas.line(middle - 3, y - pitch + 2, middle + 3, y - pitch + 2)
