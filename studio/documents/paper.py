"""House paper: sizes, fonts that print any name, paragraph styles, and the sheet around a story.

Sizes are in points of 1/72 inch throughout.
"""

from bisect import bisect_right
from collections.abc import Sequence
from functools import cache
from io import BytesIO
from pathlib import Path
from unicodedata import normalize
from xml.sax.saxutils import escape

import paperang_p2_fonts_cjk
import pymupdf_fonts
from reportlab.lib.colors import Color
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import inch, mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    FrameBreak,
    PageTemplate,
    Paragraph,
    Spacer,
    Table,
)
from reportlab.platypus.tables import TableStyle

# A4: ISO 216; Letter: ANSI.
PAPER: dict[str, tuple[float, float]] = {
    "A4": (210 * mm, 297 * mm),
    "Letter": (8.5 * inch, 11 * inch),
}
MARGIN = 18 * mm
INK = Color(0.11, 0.10, 0.09)
FAINT = Color(0.40, 0.38, 0.36)
HAIRLINE = 0.4

REGULAR, BOLD, CJK = "Noto", "Noto-Bold", "CJK"
_HEADER_SPACE = 10 * mm
_FOOTER_SPACE = 9 * mm
_ROOM_UNDER_HEADING = 28 * mm


class PaperError(ValueError):
    """A paper size the house does not print; the message names those it does."""


def paper_size(paper: str) -> tuple[float, float]:
    """Width and height in points. Raises PaperError for an unknown name."""
    if paper not in PAPER:
        raise PaperError(f"“{paper}” is not a paper size here; choose {' or '.join(PAPER)}.")
    return PAPER[paper]


def text_width(paper: str) -> float:
    """The width between the margins, in points."""
    return paper_size(paper)[0] - 2 * MARGIN


@cache
def register_fonts() -> None:
    """Make the house fonts known to reportlab: Noto Sans, and a fallback for Chinese, Japanese
    and Korean."""
    pdfmetrics.registerFont(TTFont(REGULAR, font_file(REGULAR)))
    pdfmetrics.registerFont(TTFont(BOLD, font_file(BOLD)))
    pdfmetrics.registerFontFamily(REGULAR, REGULAR, BOLD, REGULAR, BOLD)
    pdfmetrics.registerFont(TTFont(CJK, font_file(CJK), subfontIndex=0))
    # One weight only, so bold text in these scripts prints regular rather than not at all.
    pdfmetrics.registerFontFamily(CJK, CJK, CJK, CJK, CJK)


def font_file(name: str) -> BytesIO | str:
    """The file of a house font, opened or by its path."""
    if name == CJK:
        return str(Path(paperang_p2_fonts_cjk.__file__).parent / "fonts" / "wqy-microhei.ttc")
    return BytesIO(pymupdf_fonts.myfont({REGULAR: "notos", BOLD: "notosbo"}[name]))


def mixed(text: str) -> str:
    """Text as Paragraph markup: escaped, line breaks kept, and each run of characters that Noto
    lacks set in the fallback font.

    Control characters are left out; a character neither font has prints as “□”.
    """
    parts = []
    for font, run in font_runs(text):
        marked = escape(run).replace("\n", "<br/>")
        parts.append(f'<font name="{CJK}">{marked}</font>' if font == CJK else marked)
    return "".join(parts)


def font_runs(text: str) -> list[tuple[str, str]]:
    """Split text into runs of one font each: [("Noto", "Studio "), ("CJK", "東京")]."""
    register_fonts()
    noto = pdfmetrics.getFont(REGULAR).face.charToGlyph
    fallback = pdfmetrics.getFont(CJK).face.charToGlyph
    runs: list[tuple[str, str]] = []
    for character in map(_printable, normalize("NFC", text)):
        if character == " " and runs:
            font = runs[-1][0]  # words of one script stay one run
        elif character in ("", "\n") or ord(character) in noto:
            font = REGULAR
        else:
            font = CJK
            if ord(character) not in fallback:
                character = "□"
        if runs and runs[-1][0] == font:
            runs[-1] = (font, runs[-1][1] + character)
        elif character:
            runs.append((font, character))
    return runs


def _printable(character: str) -> str:
    """The character, a plain or no-break space for the rarer spaces, nothing for a control."""
    if character in ("\n", " ", "\xa0"):
        return character
    if character in ("\u202f", "\u2007"):  # narrow and figure space, as money is grouped
        return "\xa0"
    if character.isspace():
        return " "
    return character if character.isprintable() else ""


@cache
def styles() -> dict[str, ParagraphStyle]:
    """The house paragraph styles: title, heading, body, small, cell, cell_right, cell_head,
    cell_head_right."""
    register_fonts()
    body = ParagraphStyle(
        "body",
        fontName=REGULAR,
        fontSize=9.5,
        leading=13.5,
        textColor=INK,
        spaceAfter=4,
    )
    cell = ParagraphStyle("cell", body, fontSize=8.5, leading=11, spaceAfter=0)
    every = (
        body,
        cell,
        ParagraphStyle("title", body, fontName=BOLD, fontSize=18, leading=23, spaceAfter=6),
        ParagraphStyle(
            "heading",
            body,
            fontName=BOLD,
            fontSize=11.5,
            leading=15,
            spaceBefore=10,
            spaceAfter=4,
        ),
        ParagraphStyle("small", body, fontSize=8, leading=10.5, textColor=FAINT, spaceAfter=2),
        ParagraphStyle("cell_right", cell, alignment=TA_RIGHT),
        ParagraphStyle("cell_head", cell, fontName=BOLD),
        ParagraphStyle("cell_head_right", cell, fontName=BOLD, alignment=TA_RIGHT),
    )
    return {style.name: style for style in every}


def words(text: str, style: str = "body") -> Paragraph:
    """A paragraph of plain text in a house style; any name prints, however long."""
    return Paragraph(mixed(text), styles()[style])


def ruled_table(
    rows: Sequence[Sequence[str | Flowable]],
    widths: Sequence[float],
    header_rows: int = 1,
    right: Sequence[int] = (),
) -> Table:
    """A table of thin rules, without fills, whose header rows repeat on every page.

    Cells are plain text or flowables; `widths` are in points, one per column; `right` numbers the
    columns of figures to set flush right.
    """
    cells = [
        [
            _cell(value, header=row < header_rows, right=column in right)
            for column, value in enumerate(values)
        ]
        for row, values in enumerate(rows)
    ]
    rules = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 3),
        ("RIGHTPADDING", (0, 0), (-1, -1), 3),
        ("TOPPADDING", (0, 0), (-1, -1), 2.5),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 3.5),
        ("LINEBELOW", (0, header_rows), (-1, -1), HAIRLINE, FAINT),
    ]
    if header_rows:
        rules.append(("LINEBELOW", (0, header_rows - 1), (-1, header_rows - 1), 1, INK))
    return _PageByPage(
        cells,
        colWidths=list(widths),
        repeatRows=header_rows,
        style=TableStyle(rules),
        hAlign="LEFT",
        splitInRow=1,
    )


class _PageByPage(Table):
    """A table whose next part starts on the next page.

    Without that a tall row moved whole to the next part would bring its header, find some room
    left on this page, and start there.
    """

    def split(self, availWidth: float, availHeight: float) -> list[Flowable]:
        parts = super().split(availWidth, availHeight)
        return [parts[0], FrameBreak, *parts[1:]] if len(parts) > 1 else parts


def _cell(value: str | Flowable, header: bool, right: bool) -> Flowable:
    if isinstance(value, Flowable):
        return value
    name = f"cell{'_head' if header else ''}{'_right' if right else ''}"
    return words(value, name)


class TickBox(Flowable):
    """A square to tick with a pen, or already ticked."""

    def __init__(self, ticked: bool = False, size: float = 3.2 * mm) -> None:
        super().__init__()
        self.ticked = ticked
        self.width = self.height = size

    def draw(self) -> None:
        self.canv.setStrokeColor(INK)
        self.canv.setLineWidth(0.7)
        self.canv.rect(0, 0, self.width, self.height)
        if self.ticked:
            side, foot = self.width, (0.42 * self.width, 0.2 * self.width)
            self.canv.setLineWidth(1.2)
            self.canv.lines([(0.2 * side, 0.5 * side, *foot), (*foot, 0.8 * side, 0.8 * side)])


def sheet(
    story: Sequence[Flowable],
    title: str,
    paper: str,
    footer_left: str,
    author: str = "Stillcount",
    lang: str = "en",
) -> bytes:
    """Set a story on house paper: ruled header with the title, footer with “page n of m”.

    The same story gives the same bytes. `lang` is the language tag written into the file.

    Raises PaperError for an unknown paper size.
    """
    size = paper_size(paper)
    register_fonts()
    out = BytesIO()
    document = BaseDocTemplate(
        out, pagesize=size, title=title, author=author, creator=author, lang=lang, invariant=1
    )
    frame = Frame(
        MARGIN,
        MARGIN + _FOOTER_SPACE,
        size[0] - 2 * MARGIN,
        size[1] - 2 * MARGIN - _HEADER_SPACE - _FOOTER_SPACE,
        leftPadding=0,
        rightPadding=0,
        topPadding=0,
        bottomPadding=0,
    )
    document.addPageTemplates(PageTemplate(frames=[frame]))

    def canvas(*args, **kwargs) -> _NumberedCanvas:
        return _NumberedCanvas(*args, header=title, footer=footer_left, **kwargs)

    document.build(_headings_kept(story), canvasmaker=canvas)
    return out.getvalue()


def _headings_kept(story: Sequence[Flowable]) -> list[Flowable]:
    """The story with room asked for under each heading, so that none ends a page.

    (keepWithNext would move a whole table to the next page to keep it with its heading.)
    """
    kept: list[Flowable] = []
    for flowable in story:
        if isinstance(flowable, Paragraph) and flowable.style.name == "heading":
            kept.append(CondPageBreak(_ROOM_UNDER_HEADING))
        kept.append(flowable)
    return kept or [Spacer(0, 1)]  # an empty story is one empty page


class _NumberedCanvas(Canvas):
    """Holds the pages back until their number is known, then rules each header and footer."""

    def __init__(self, *args, header: str, footer: str, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self._header, self._footer = header, footer
        self._pages: list[dict] = []

    def showPage(self) -> None:
        self._pages.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        for number, page in enumerate(self._pages, start=1):
            self.__dict__.update(page)
            self._frame_page(f"page {number} of {len(self._pages)}")
            super().showPage()
        super().save()

    def _frame_page(self, number: str) -> None:
        width, height = self._pagesize
        head, foot = height - MARGIN - 5 * mm, MARGIN + 5 * mm
        self.setStrokeColor(INK)
        self.setLineWidth(HAIRLINE)
        self.lines([(MARGIN, head, width - MARGIN, head), (MARGIN, foot, width - MARGIN, foot)])
        self.setFillColor(FAINT)
        room = width - 2 * MARGIN
        draw_line(self, MARGIN, head + 4, self._header, 8, room)
        draw_line(self, MARGIN, foot - 11, self._footer, 8, room - 30 * mm)
        self.setFont(REGULAR, 8)
        self.drawRightString(width - MARGIN, foot - 11, number)


def draw_line(canvas: Canvas, x: float, y: float, text: str, size: float, room: float) -> float:
    """Draw one line of text from x, each run in a font that has it, shortened with “…” to `room`.

    Returns the width drawn, in points.
    """
    fitted = shortened(text.replace("\n", " "), size, room)
    line = canvas.beginText(x, y)  # one text object, so that a reader finds one line
    for font, run in font_runs(fitted):
        line.setFont(font, size)
        line.textOut(run)
    canvas.drawText(line)
    return line_width(fitted, size)


def line_width(text: str, size: float) -> float:
    """The width of one line of mixed text at this font size, in points."""
    return sum(pdfmetrics.stringWidth(run, font, size) for font, run in font_runs(text))


def shortened(text: str, size: float, room: float) -> str:
    """The text, cut with “…” where it is wider than `room` points."""
    if line_width(text, size) <= room:
        return text
    fits = bisect_right(range(1, len(text)), room, key=lambda n: line_width(text[:n] + "…", size))
    return f"{text[:fits].rstrip()}…" if fits else ""
