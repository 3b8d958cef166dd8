from io import BytesIO

import pytest
from pypdf import PdfReader
from reportlab.platypus import PageBreak

from studio.documents.paper import (
    PaperError,
    TickBox,
    font_runs,
    line_width,
    mixed,
    paper_size,
    ruled_table,
    sheet,
    shortened,
    text_width,
    words,
)

# Invented names; the letters are the ones that go missing first in a font of narrow coverage.
NAMES = {
    "Greek": "Ωmega Ξύλινη Κούκλα",
    "Cyrillic": "Войлочный Ёжик Їжачок",
    "Polish": "Zażółć gęślą jaźń",
    "Turkish": "İğne Şapkalı Ilgın",
    "Japanese": "紙のきつね工房",
    "Korean": "종이 여우",
}


def read(pdf: bytes) -> PdfReader:
    return PdfReader(BytesIO(pdf))


# A4: ISO 216 (210 x 297 mm); Letter: ANSI (8.5 x 11 in); a point is 1/72 inch.
@pytest.mark.parametrize(
    ("paper", "width", "height"), [("A4", 595.276, 841.890), ("Letter", 612.0, 792.0)]
)
def test_a_sheet_has_the_size_of_its_paper(paper, width, height):
    page = read(sheet([words("One line")], "Call sheet", paper, "Felt Studio")).pages[0]
    assert float(page.mediabox.width) == pytest.approx(width, abs=0.001)
    assert float(page.mediabox.height) == pytest.approx(height, abs=0.001)
    assert paper_size(paper) == pytest.approx((width, height), abs=0.001)


def test_an_unknown_paper_is_refused_with_the_ones_there_are():
    with pytest.raises(PaperError, match="choose A4 or Letter"):
        sheet([], "Call sheet", "A5", "")


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_a_name_in_any_of_these_scripts_prints_everywhere(name):
    pdf = sheet([words(name, "title"), ruled_table([["Client"], [name]], [200])], name, "A4", name)
    text = read(pdf).pages[0].extract_text()
    assert text.count(name) == 4  # header, title, table, footer
    assert read(pdf).metadata.title == name


def test_markup_in_a_name_prints_as_typed():
    pdf = sheet([words("Clay & <b>Wire</b> 紙<i>")], "Quote", "A4", "A <b> & C")
    text = read(pdf).pages[0].extract_text()
    assert "Clay & <b>Wire</b> 紙<i>" in text
    assert "A <b> & C" in text


@pytest.mark.parametrize(
    ("text", "markup"),
    [
        ("plain", "plain"),
        ("a\nb", "a<br/>b"),
        ("a\tb\x00\x07c\u200bd", "a bcd"),
        ("1\u202f000", "1\xa0000"),
        ("紙 a 紙", '<font name="CJK">紙 </font>a <font name="CJK">紙</font>'),
        ("Z\u0307", "Ż"),  # letter and accent typed apart
        ("\u05d0", '<font name="CJK">□</font>'),  # neither font has Hebrew
        ("", ""),
    ],
)
def test_mixed_text_is_escaped_and_split_by_font(text, markup):
    assert mixed(text) == markup


def test_runs_alternate_between_fonts():
    assert font_runs("Felt 紙狐 & co") == [("Noto", "Felt "), ("CJK", "紙狐 "), ("Noto", "& co")]


def test_a_long_table_repeats_its_header_and_counts_its_pages():
    rows = [["Shot", "Pictures"], *([f"A{n}", str(n)] for n in range(120))]
    reader = read(sheet([ruled_table(rows, [100, 80], right=[1])], "Shots", "A4", "Felt Studio"))
    count = len(reader.pages)
    assert count == 4  # rows of 17 pt in a frame of 686 pt: 40 to a page
    for number, page in enumerate(reader.pages, start=1):
        text = page.extract_text()
        assert text.count("Pictures") == 1
        assert f"page {number} of {count}" in text
        assert "Felt Studio" in text


def test_a_table_of_headings_alone_prints():
    table = ruled_table([["Shot", "Pictures"]], [100, 80])
    assert "Pictures" in read(sheet([table], "Shots", "A4", "")).pages[0].extract_text()


def test_a_heading_stays_with_the_table_that_follows_on_the_same_page():
    rows = [[f"A{n}"] for n in range(120)]
    pages = read(
        sheet([words("Shots", "heading"), ruled_table(rows, [100], 0)], "T", "A4", "")
    ).pages
    assert "A0" in pages[0].extract_text()


def test_a_heading_never_ends_a_page():
    story = [*(words("Filler") for _ in range(38)), words("Lonely", "heading"), words("Its text")]
    for page in read(sheet(story, "T", "A4", "")).pages:
        text = page.extract_text()
        assert ("Lonely" in text) == ("Its text" in text)


def test_pages_are_as_many_as_the_story_breaks_into():
    story = [words("one"), PageBreak(), words("two")]
    assert len(read(sheet(story, "T", "Letter", "")).pages) == 2


def test_an_empty_story_still_makes_a_page():
    reader = read(sheet([], "Empty", "A4", "Felt Studio"))
    assert len(reader.pages) == 1
    assert "page 1 of 1" in reader.pages[0].extract_text()


@pytest.mark.parametrize("name", ["x" * 3000, "very long name " * 400, "紙" * 2000])
def test_a_very_long_name_wraps_in_a_narrow_cell_and_over_pages(name):
    table = ruled_table([["Client", "Paid"], [name, TickBox()]], [80, 40])
    reader = read(sheet([table], name, "A4", name))
    assert len(reader.pages) >= 2


def test_the_file_names_its_title_author_and_language():
    reader = read(sheet([words("x")], "Call sheet", "A4", "", author="Felt Studio", lang="pl"))
    assert reader.metadata.title == "Call sheet"
    assert reader.metadata.author == "Felt Studio"
    assert reader.trailer["/Root"]["/Lang"] == "pl"


def test_the_same_story_gives_the_same_bytes():
    first, second = (
        sheet([words("Żółć 紙"), TickBox(True)], "T", "A4", "Felt Studio") for _ in range(2)
    )
    assert first == second


def test_every_font_used_is_embedded():
    reader = read(sheet([words("Żółć 紙"), words("Bold", "heading")], "T", "A4", ""))
    fonts = reader.pages[0]["/Resources"]["/Font"]
    embedded = [
        font["/FontDescriptor"]
        for font in (each.get_object() for each in fonts.values())
        if "/FontDescriptor" in font
    ]
    assert len(embedded) >= 3
    assert all("/FontFile2" in each for each in embedded)


def test_a_line_is_shortened_to_its_room():
    assert shortened("Felt", 8, 200) == "Felt"
    cut = shortened("A hedgehog of felt and wire 紙紙紙紙", 8, 60)
    assert cut.endswith("…")
    assert line_width(cut, 8) <= 60
    assert shortened("Felt", 8, 1) == ""


def test_the_text_is_as_wide_as_the_paper_less_its_margins():
    assert text_width("Letter") == pytest.approx(612 - 2 * 51.024, abs=0.01)  # 18 mm each side
