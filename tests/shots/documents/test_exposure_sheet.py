from fractions import Fraction
from io import BytesIO

import pytest
from pypdf import PdfReader

from shots.documents.exposure_sheet import ExposureSheet, exposure_sheet
from shots.trade.beats import blank_lines, read_beats, sheet_lines

BEATS = """hold 12 f
wave: raise 90° in 8 pictures, ease both ends
line of dialogue “Dzień dobry, Żółć” 1 s
reuse 8 f"""


def pages(paper="A4", lines=None, rate=Fraction(24), **more):
    if lines is None:
        lines = sheet_lines(read_beats(BEATS, rate, 2), 2)
    sheet = ExposureSheet("The Felt Kettle", "A20", "wide table", rate, 2, lines, **more)
    reader = PdfReader(BytesIO(exposure_sheet(sheet, paper)))
    return [page.extract_text() for page in reader.pages]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_page_holds_two_whole_seconds_at_24(paper):
    first, second = pages(paper)
    assert "00:00:01:23" in first
    assert "00:00:02:00" not in first
    assert "00:00:02:00" in second


def test_every_column_of_the_sheet_has_its_head():
    (first, _) = pages()
    for head in ("frame", "timecode", "action", "dialogue", "camera", "light", "picture", "held"):
        assert head in first


def test_beats_are_filled_in_with_holds_and_reuse_marked():
    text = "\n".join(pages()).replace("\n", " ")
    for words in ("wave: raise 90°", "“Dzień", "Żółć”", "hold", "reuse", "× 2", "on twos"):
        assert words in text


def test_timecode_starts_where_the_shot_does_in_the_film():
    assert "01:00:00:00" in pages(first_frame=86400)[0]


def test_drop_frame_labels_are_skipped_on_the_sheet():
    # SMPTE ST 12-1: frame 1800 at 29.97 is 00:01:00;02
    rate = Fraction(30000, 1001)
    (text,) = pages(lines=blank_lines(2), rate=rate, first_frame=1799, drop_frame=True)
    assert "00:00:59;29" in text
    assert "00:01:00;02" in text


def test_a_blank_sheet_is_ruled_and_numbered_only():
    (text,) = pages(lines=blank_lines(24))
    assert "00:00:00:23" in text
    assert "×" not in text


@pytest.mark.parametrize("rate", [Fraction(6), Fraction(25, 2), Fraction(60), Fraction(1000)])
def test_any_rate_prints(rate):
    assert len(pages(lines=blank_lines(10), rate=rate)) == 1


def test_a_shot_without_frames_is_one_empty_page():
    assert len(pages(lines=())) == 1


def test_a_thousand_frames_print_on_as_many_pages_as_they_need():
    # 48 a page
    assert len(pages(lines=blank_lines(1000))) == 21


def test_an_unknown_paper_is_refused():
    with pytest.raises(ValueError, match="is not a paper size here"):
        pages("A0")
