"""The gauge must be true on paper: its PDF is rasterised and measured like a print."""

import subprocess
from io import BytesIO
from itertools import pairwise

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader

from shots.documents.spacing_gauge import SpacingGauge, spacing_gauge
from shots.trade.spacing import Move

DPI = 600
DOT = 25.4 / DPI  # mm


@pytest.fixture
def printed(tmp_path):
    """Page `number` of a gauge as dark dots, rows from the top, 600 to the inch."""

    def rasterise(pdf, number=1):
        path = tmp_path / "gauge.pdf"
        path.write_bytes(pdf)
        page = ["-f", str(number), "-l", str(number)]
        subprocess.run(
            ["pdftoppm", "-r", str(DPI), "-gray", *page, "-singlefile", path, tmp_path / "page"],
            check=True,
        )
        return np.asarray(Image.open(tmp_path / "page.pgm")) < 160

    return rasterise


def runs(dots):
    """(first, last) of each stretch of dark dots in one line."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], dots.astype(int), [0]))))
    return [(start, end - 1) for start, end in zip(edges[::2], edges[1::2], strict=True)]


def longest_lines(page, longer_than):
    """Rows of horizontal lines longer than so many mm, top to bottom: (row, from, to) in dots."""
    found = []
    for row in np.flatnonzero(page.sum(axis=1) * DOT > longer_than):
        start, end = max(runs(page[row]), key=lambda run: run[1] - run[0])
        if (end - start) * DOT > longer_than and (not found or row - found[-1][0] > 5):
            found.append((row, start, end))
    return found


def tick_places(page, row, above=3):
    """mm across the page of the ticks that stand on the line at `row`, met `above` mm up."""
    return [(start + end) / 2 * DOT for start, end in runs(page[row - int(above / DOT)])]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_ticks_stand_where_the_puppet_will_to_a_tenth_of_a_mm(printed, paper):
    page = printed(spacing_gauge(SpacingGauge("A10", Move(200, "mm", 10, "both")), paper))
    edge = longest_lines(page, longer_than=150)[0]
    ticks = np.array(tick_places(page, edge[0]))
    # CSS Easing Functions Level 1, ease-in-out at tenths, times 200 mm
    expected = [0, 3.95, 16.33, 37.48, 66.38, 100, 133.62, 162.52, 183.67, 196.05, 200]
    assert ticks - ticks[0] == pytest.approx(expected, abs=0.1)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_check_line_is_100_mm_long(printed, paper):
    page = printed(spacing_gauge(SpacingGauge("A10", Move(40, "mm", 4)), paper))
    (line,) = longest_lines(page, longer_than=90)
    ends = tick_places(page, line[0], above=1)
    assert ends[1] - ends[0] == pytest.approx(100, abs=0.1)


def test_joined_strips_measure_as_one(printed):
    page = printed(spacing_gauge(SpacingGauge("A10", Move(600, "mm", 12, "even")), "A4"))
    *strips, _check_line = longest_lines(page, longer_than=90)
    assert len(strips) == 3
    covered = 0.0
    for number, (row, start, end) in enumerate(strips):
        ticks = tick_places(page, row)
        steps = [after - before for before, after in pairwise(ticks)]
        assert steps == pytest.approx([50] * len(steps), abs=0.1)
        # the next strip starts 12 mm before this one ends
        covered += (end - start) * DOT - (12 if number else 0)
    assert covered == pytest.approx(600, abs=0.3)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_arc_ticks_stand_at_their_angles(printed, paper):
    gauge = SpacingGauge("wave", Move(90, "degrees", 6, "even"), radius=100)
    page = printed(spacing_gauge(gauge, paper))
    pivot = arc_pivot(page)
    rows, columns = np.nonzero(page)
    distance = np.hypot(columns - pivot[0], rows - pivot[1]) * DOT
    ring = (distance > 96) & (distance < 97) & (rows < pivot[1])
    angles = np.degrees(np.arctan2(pivot[1] - rows[ring], columns[ring] - pivot[0]))
    ticks = [angles[np.abs(angles - middle) < 3].mean() for middle in range(135, 44, -15)]
    # 0.1 mm at 96.5 mm is 0.06 degrees
    assert ticks == pytest.approx(list(range(135, 44, -15)), abs=0.06)
    assert 99.9 < distance[(distance > 98) & (distance < 102) & (rows < pivot[1])].max() < 100.2


def arc_pivot(page):
    """The middle of the cross at the pivot: the only mark on the page's upright centre line
    between the arc and the check line that is 6 mm wide."""
    middle = page.shape[1] // 2
    for row in range(int(100 / DOT), page.shape[0]):
        for start, end in runs(page[row, middle - 200 : middle + 200]):
            if (end - start) * DOT == pytest.approx(6, abs=0.2):
                return (start + end) / 2 + middle - 200, row + 1
    raise AssertionError("no pivot cross found")


def text_of(pdf):
    return "\n".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)


def test_the_caution_is_on_every_page():
    pdf = spacing_gauge(SpacingGauge("A10", Move(900, "mm", 40)), "A4")
    pages = PdfReader(BytesIO(pdf)).pages
    assert len(pages) == 3
    for page in pages:
        assert "Print at 100 %" in page.extract_text()
        assert "100 mm" in page.extract_text()


def test_ticks_are_numbered_and_the_table_gives_positions_and_steps():
    text = text_of(spacing_gauge(SpacingGauge("Żółć hops", Move(100, "mm", 4, "even")), "A4"))
    assert "Żółć hops" in text
    for figure in ("0.00", "25.00", "50.00", "75.00", "100.00", "+25.00"):
        assert figure in text


@pytest.mark.parametrize(
    "move",
    [
        Move(90, "mm", 8, "both"),
        Move(60, "mm", 9, "out"),
        Move(90, "degrees", 12, "in", 0.05, 0.1),
    ],
)
def test_ticks_close_together_have_their_numbers_in_two_rows(move):
    pdf = spacing_gauge(SpacingGauge("A10", move), "A4")
    words = PdfReader(BytesIO(pdf)).pages[0].extract_text().split()
    assert {str(picture) for picture in range(move.pictures + 1)} <= set(words)


def test_joins_are_marked_on_both_sides():
    text = text_of(spacing_gauge(SpacingGauge("A10", Move(600, "mm", 12)), "A4"))
    assert (text.count("join 1"), text.count("join 2")) == (2, 2)


@pytest.mark.parametrize(
    ("paper", "size"),
    # ISO 216 and ANSI, landscape, in points
    [("A4", (841.89, 595.28)), ("Letter", (792, 612))],
)
def test_the_page_is_the_paper_turned(paper, size):
    pdf = spacing_gauge(SpacingGauge("A10", Move(40, "mm", 4)), paper)
    box = PdfReader(BytesIO(pdf)).pages[0].mediabox
    assert (box.width, box.height) == pytest.approx(size, abs=0.01)


@pytest.mark.parametrize(
    ("move", "radius", "sentence"),
    [
        (Move(90_000, "mm", 100), 80, "90.00 m long takes .* strips"),
        (Move(720, "degrees", 48), 80, "at most one turn of 360°"),
        (Move(90, "degrees", 8), 500, "radius of 90° goes from 20 to .* got 500"),
        (Move(360, "degrees", 8), 79, "radius of 360° goes from 20 to .* got 79"),
        (Move(90, "degrees", 8), 0, "got 0"),
    ],
)
def test_what_does_not_go_on_paper_is_refused_in_a_sentence(move, radius, sentence):
    with pytest.raises(ValueError, match=sentence):
        spacing_gauge(SpacingGauge("A10", move, radius), "A4")


def test_an_unknown_paper_is_refused():
    with pytest.raises(ValueError, match="is not a paper size here"):
        spacing_gauge(SpacingGauge("A10", Move(90, "mm", 8)), "A0")


def test_one_picture_and_a_thousand_both_print():
    for pictures in (1, 1000):
        pdf = spacing_gauge(SpacingGauge("A10", Move(120, "mm", pictures)), "A4")
        assert "Print at 100 %" in text_of(pdf)
