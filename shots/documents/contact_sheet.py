"""The contact sheet: every picture small, numbered, with its flags in words."""

from dataclasses import dataclass
from io import BytesIO

from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.platypus import Flowable, Image, Spacer, Table
from reportlab.platypus.tables import TableStyle

from studio.documents.paper import FAINT, HAIRLINE, INK, sheet, text_width, words

ACROSS = 5  # about as wide as a strip of 35 mm film, as contact prints are
FRAME = 1.5  # points, round a picture that needs a look
MOST_DOWN = 34 * mm  # an upright picture is no taller than this


@dataclass(frozen=True)
class SheetPicture:
    """One picture: `number` is its place in the shot, `jpeg` is empty where the file was lost."""

    number: int
    name: str
    jpeg: bytes
    flags: str = ""
    needs_a_look: bool = False
    is_discarded: bool = False


@dataclass(frozen=True)
class SheetShot:
    """One shot and its pictures in order."""

    code: str
    description: str
    standing: str
    pictures: tuple[SheetPicture, ...]


@dataclass(frozen=True)
class ContactSheet:
    """The pictures of a shot or of a day."""

    title: str
    production: str
    studio: str
    printed: str
    shots: tuple[SheetShot, ...]


def contact_sheet(contents: ContactSheet, paper: str) -> bytes:
    """The contact sheet as PDF. Raises PaperError for an unknown paper size."""
    width = text_width(paper)
    story: list[Flowable] = [words(contents.title, "title"), words(contents.production, "small")]
    for shot in contents.shots:
        story.append(words(f"{shot.code} {shot.description}".strip(), "heading"))
        story.append(words(shot.standing, "small"))
        story.append(_grid(shot.pictures, width))
    if not any(shot.pictures for shot in contents.shots):
        story.append(words("No pictures yet."))
    footer = f"{contents.studio} · {contents.printed}"
    return sheet(story, contents.title, paper, footer, author=contents.studio)


def _grid(pictures: tuple[SheetPicture, ...], width: float) -> Flowable:
    if not pictures:
        return Spacer(0, 1)
    across = width / ACROSS
    cells = [_cell(picture, across - 6) for picture in pictures]
    cells += [""] * (-len(cells) % ACROSS)
    rows = [cells[at : at + ACROSS] for at in range(0, len(cells), ACROSS)]
    return Table(
        rows,
        colWidths=[across] * ACROSS,
        hAlign="LEFT",
        style=TableStyle(
            [
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LEFTPADDING", (0, 0), (-1, -1), 3),
                ("RIGHTPADDING", (0, 0), (-1, -1), 3),
                ("TOPPADDING", (0, 0), (-1, -1), 4),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 4),
                ("LINEBELOW", (0, 0), (-1, -1), HAIRLINE, FAINT),
                *(
                    ("BOX", (n % ACROSS, n // ACROSS), (n % ACROSS, n // ACROSS), FRAME, INK)
                    for n, picture in enumerate(pictures)
                    if picture.needs_a_look
                ),
            ]
        ),
    )


def _cell(picture: SheetPicture, width: float) -> list[Flowable]:
    struck = " · discarded" if picture.is_discarded else ""
    cell: list[Flowable] = [words(f"{picture.number}{struck}", "cell_head")]
    if picture.jpeg:
        cell.insert(0, _image(picture.jpeg, width))
    cell.append(words(picture.name, "small"))
    if picture.flags:
        cell.append(words(picture.flags, "cell_head" if picture.needs_a_look else "small"))
    return cell


def _image(jpeg: bytes, width: float) -> Image:
    across, down = ImageReader(BytesIO(jpeg)).getSize()
    scale = min(width / across, MOST_DOWN / down)
    return Image(BytesIO(jpeg), across * scale, down * scale, hAlign="LEFT")
