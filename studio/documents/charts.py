"""The film strip and the fan on paper, from the same geometry as on the page.

They read in black and white: what is shot is hatched, what must be told apart differs in line and
is named in words.
"""

from datetime import date

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from studio.documents.paper import FAINT, HAIRLINE, INK, draw_line, line_width, register_fonts
from studio.trade.fan import Fan, Point
from studio.trade.strip import Segment, Strip

_SMALL = 7.0
_LINE = 9.5
_TINT = 0.88  # grey of the band: light enough to write on, dark enough to copy
_HATCH_GAP = 3.0
_BUDGET_DASH, _EVEN_DASH = (5, 3), (1, 1.5)


class StripChart(Flowable):
    """The film strip: shots named where there is room, hatched as far as they are shot, over a
    ruler in minutes and seconds. `width` is in points."""

    BAR = 13 * mm
    RULER = 15.0
    NAMES = 10.0

    def __init__(self, film: Strip, width: float) -> None:
        super().__init__()
        register_fonts()
        self.film = film
        self.width = width
        self.height = self.NAMES + self.BAR + self.RULER + _LINE
        self.spaceAfter = 8

    def draw(self) -> None:
        canvas, scale = self.canv, self.width / self.film.span_frames
        foot = self.RULER + _LINE
        for segment in self.film.segments:
            self._draw_segment(canvas, segment, scale, foot)
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.8)
        canvas.rect(0, foot, self.film.total_frames * scale, self.BAR)
        self._draw_ruler(canvas, scale, foot)
        self._draw_contract(canvas, scale, foot)
        _write(canvas, 0, 1, self._words(), self.width)

    def _words(self) -> str:
        contract = "" if self.film.contracted_frames is None else " Dashed: contracted runtime."
        return f"{self.film.sentence} Hatched: shot.{contract}"

    def _draw_segment(self, canvas: Canvas, segment: Segment, scale: float, foot: float) -> None:
        left, width = segment.x * scale, segment.width * scale
        _hatch(canvas, left, foot, segment.filled_width * scale, self.BAR)
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(HAIRLINE)
        canvas.rect(left, foot, width, self.BAR)
        if line_width(segment.label, _SMALL) <= width - 3:
            _write(canvas, left + 1.5, foot + self.BAR + 2.5, segment.label, width - 2)

    def _draw_ruler(self, canvas: Canvas, scale: float, foot: float) -> None:
        canvas.setStrokeColor(FAINT)
        canvas.setLineWidth(HAIRLINE)
        for tick in self.film.ticks:
            x = tick.x * scale
            canvas.line(x, foot, x, foot - 3.5)
            room = line_width(tick.label, _SMALL)
            at = min(max(x - room / 2, 0), self.width - room)
            _write(canvas, at, foot - 11, tick.label, room + 1, faint=True)

    def _draw_contract(self, canvas: Canvas, scale: float, foot: float) -> None:
        if self.film.contracted_frames is None:
            return
        x = self.film.contracted_frames * scale
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(1.4)
        canvas.setDash(3, 2)
        canvas.line(x, foot - 4, x, foot + self.BAR + 4)
        canvas.setDash()


class FanChart(Flowable):
    """The fan: kept pictures as a thick line, the budget dashed, the forecast as a tinted band with
    its even chance dotted. `width` and `height` are in points."""

    LEFT, RIGHT, TOP, BOTTOM = 32.0, 6.0, 12.0, 32.0

    def __init__(self, drawn: Fan, width: float, height: float = 62 * mm) -> None:
        super().__init__()
        register_fonts()
        self.drawn = drawn
        self.width = width
        self.height = height
        self.spaceAfter = 8

    def draw(self) -> None:
        canvas, drawn = self.canv, self.drawn
        self._draw_grid(canvas)
        self._fill_band(canvas)
        self._draw_upright(canvas, drawn.today_x, "today", dash=(1, 2))
        if drawn.deadline_x is not None:
            self._draw_upright(canvas, drawn.deadline_x, "deadline", dash=None)
        self._draw_line(canvas, drawn.budget, 0.8, dash=_BUDGET_DASH)
        self._draw_line(canvas, drawn.middle, 0.9, dash=_EVEN_DASH)
        self._draw_line(canvas, drawn.kept, 1.8, dash=None)
        self._draw_key(canvas)

    def _at(self, point: Point) -> Point:
        x, y = point
        return (
            self.LEFT + x * (self.width - self.LEFT - self.RIGHT),
            self.BOTTOM + y * (self.height - self.TOP - self.BOTTOM),
        )

    def _draw_grid(self, canvas: Canvas) -> None:
        canvas.setStrokeColor(FAINT)
        canvas.setLineWidth(0.25)
        for mark in self.drawn.picture_ticks:
            (left, y), (right, _) = self._at((0, mark.at)), self._at((1, mark.at))
            canvas.line(left, y, right, y)
            label = str(mark.pictures)
            room = line_width(label, _SMALL)
            _write(canvas, left - 4 - room, y - 2.5, label, room + 1, faint=True)
        for mark in self.drawn.date_ticks:
            x, y = self._at((mark.at, 0))
            canvas.line(x, y, x, y - 3)
            label = _short_date(mark.day)
            room = line_width(label, _SMALL)
            at = min(x - room / 2, self.width - room)
            _write(canvas, at, y - 11, label, room + 1, faint=True)

    def _fill_band(self, canvas: Canvas) -> None:
        if not self.drawn.band:
            return
        outline = canvas.beginPath()
        first, *rest = map(self._at, self.drawn.band)
        outline.moveTo(*first)
        for point in rest:
            outline.lineTo(*point)
        outline.close()
        canvas.setFillGray(_TINT)
        canvas.setStrokeColor(FAINT)
        canvas.setLineWidth(HAIRLINE)
        canvas.drawPath(outline, stroke=1, fill=1)

    def _draw_line(
        self,
        canvas: Canvas,
        points: tuple[Point, ...],
        thickness: float,
        dash: tuple[float, float] | None,
    ) -> None:
        if len(points) < 2:
            return
        line = canvas.beginPath()
        first, *rest = map(self._at, points)
        line.moveTo(*first)
        for point in rest:
            line.lineTo(*point)
        _set_pen(canvas, thickness, dash)
        canvas.drawPath(line, stroke=1, fill=0)
        canvas.setDash()

    def _draw_upright(
        self, canvas: Canvas, at: float, name: str, dash: tuple[float, float] | None
    ) -> None:
        (x, foot), (_, head) = self._at((at, 0)), self._at((at, 1))
        _set_pen(canvas, 0.8, dash)
        canvas.line(x, foot, x, head)
        canvas.setDash()
        room = line_width(name, _SMALL)
        # The deadline is named above the box, today inside it, so that they never overprint.
        above = head + 3 if name == "deadline" else head - 8
        _write(canvas, min(x + 2, self.width - room), above, name, room + 1)

    def _draw_key(self, canvas: Canvas) -> None:
        """Name each line that is there."""
        x = self.LEFT
        for name, points, thickness, dash in (
            ("kept pictures", self.drawn.kept, 1.8, None),
            ("budget", self.drawn.budget, 0.8, _BUDGET_DASH),
            ("even chance", self.drawn.middle, 0.9, _EVEN_DASH),
        ):
            if points:
                _set_pen(canvas, thickness, dash)
                canvas.line(x, 6, x + 16, 6)
                canvas.setDash()
                x += 32 + _write(canvas, x + 20, 3.5, name, self.width)
        if self.drawn.band:
            canvas.setFillGray(_TINT)
            canvas.setStrokeColor(FAINT)
            canvas.setLineWidth(HAIRLINE)
            canvas.rect(x, 3, 16, 6, fill=1)
            _write(canvas, x + 20, 3.5, "likely range", self.width)


def _set_pen(canvas: Canvas, thickness: float, dash: tuple[float, float] | None) -> None:
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(thickness)
    canvas.setDash(*(dash or ()))


def _write(
    canvas: Canvas, x: float, y: float, text: str, room: float, faint: bool = False
) -> float:
    canvas.setFillColor(FAINT if faint else INK)
    return draw_line(canvas, x, y, text, _SMALL, room)


def _hatch(canvas: Canvas, left: float, foot: float, width: float, height: float) -> None:
    """Rising strokes at 45 degrees, clipped to the box."""
    if width <= 0:
        return
    canvas.saveState()
    box = canvas.beginPath()
    box.rect(left, foot, width, height)
    canvas.clipPath(box, stroke=0, fill=0)
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(HAIRLINE)
    strokes = int((width + height) / _HATCH_GAP) + 1
    starts = (left - height + n * _HATCH_GAP for n in range(strokes))
    canvas.lines([(start, foot, start + height, foot + height) for start in starts])
    canvas.restoreState()


_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def _short_date(day: date) -> str:
    return f"{day.day} {_MONTHS[day.month - 1]}"
