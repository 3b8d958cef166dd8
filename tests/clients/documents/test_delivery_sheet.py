from dataclasses import replace
from datetime import date, datetime
from io import BytesIO

import pytest
from pypdf import PdfReader

from clients.documents.delivery_sheet import (
    FLASH_NOTE,
    DeliverySheet,
    KeptFile,
    PromisedFile,
    SheetCheck,
    SheetResult,
    delivery_sheet,
)

TICKED = SheetCheck("Sound in step at the end", datetime(2026, 11, 24, 16, 5), "Łucja Żak")
OPEN = SheetCheck("Titles spelled as approved")
FILE = PromisedFile(
    name="HD web master",
    purpose="For the foyer screen",
    file_name="FELT_hd-web-master_v01.mp4",
    specification=(("Picture size", "1920 × 1080"), ("Frame rate", "24 frames a second"),
                   ("Codec", "H.264 High")),
    caution="15 into 24 is uneven.",
    checks=(TICKED, OPEN),
    notes="Ask about the crop.",
)  # fmt: skip
SHEET = DeliverySheet(
    studio="Lamplight Table",
    address="3 Mill Lane",
    production="The Felt Fox",
    code="FELT",
    client="Ωmega 紙のきつね工房",
    day=date(2026, 11, 25),
    runtime="30 s 00 f",
    rate="24",
    files=(FILE,),
)


def read(sheet: DeliverySheet, paper: str = "A4") -> tuple[PdfReader, str]:
    reader = PdfReader(BytesIO(delivery_sheet(sheet, paper)))
    text = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    return reader, text


# A4: ISO 216; Letter: ANSI 8.5 x 11 in; a point is 1/72 inch.
@pytest.mark.parametrize(
    ("paper", "width", "height"), [("A4", 595.276, 841.890), ("Letter", 612.0, 792.0)]
)
def test_one_file_fits_one_page_of_either_paper(paper, width, height):
    ordinary = replace(FILE, checks=(TICKED,) * 11, caution="", notes="")
    reader, text = read(replace(SHEET, files=(ordinary,)), paper)
    assert len(reader.pages) == 1
    assert float(reader.pages[0].mediabox.width) == pytest.approx(width, abs=0.001)
    assert float(reader.pages[0].mediabox.height) == pytest.approx(height, abs=0.001)
    assert "page 1 of 1" in text


@pytest.mark.parametrize(
    "words",
    [
        "The Felt Fox (FELT)",
        "Ωmega 紙のきつね工房",
        "25 November 2026",
        "30 s 00 f at 24 frames a second",
        "1 · HD web master",
        "1920 × 1080",
        "FELT_hd-web-master_v01.mp4",
        "Look: 15 into 24 is uneven.",
        "Łucja Żak, 24 Nov 2026, 16:05",
        "Titles spelled as approved not ticked",
        "Notes: Ask about the crop.",
        "For the studio: Lamplight Table",
        "For the client: Ωmega 紙のきつね工房",
        "Signature",
    ],
)
def test_the_sheet_says(words):
    assert words in read(SHEET)[1]


def test_a_ticked_box_is_drawn_with_its_tick():
    one, other = (
        PdfReader(BytesIO(delivery_sheet(replace(SHEET, files=(replace(FILE, checks=(check,)),)),
                                         "A4"))).pages[0].get_contents().get_data()
        for check in (TICKED, OPEN)
    )  # fmt: skip
    # A tick is the only line 1.2 points wide (PDF 32000-1, 8.4.4: operator w).
    assert one.count(b"1.2 w") == 1
    assert other.count(b"1.2 w") == 0


def test_twelve_files_with_long_names_are_all_there():
    long = "Käsikirjoitus Выставочная Κάθετη 方形版 " * 3
    files = tuple(
        replace(FILE, name=f"{long}{n}", file_name="a-very-long-file-name-" * 8, checks=(OPEN,) * 9)
        for n in range(1, 13)
    )
    reader, text = read(replace(SHEET, client="N" * 200, files=files))
    assert f"page {len(reader.pages)} of {len(reader.pages)}" in text
    assert text.count("Titles spelled as approved") == 12 * 9
    assert "The files" in text
    assert text.count("0 of 9") == 12
    assert text.count("Handed over and received") == 1


def test_nothing_promised_and_no_client_still_prints():
    bare = DeliverySheet(
        studio="Lamplight Table",
        production="The Felt Fox",
        code="FELT",
        day=date(2026, 1, 2),
        files=(),
    )
    text = read(bare)[1]
    assert "No file is promised yet." in text
    assert "2 January 2026" in text


FITS = SheetResult("Picture width", "1920 px", "1920 px", "fits")
LOUD = SheetResult(
    "Loudness", "−23 LUFS, ±0.5 LU", "−20 LUFS", "accepted",
    "Accepted in writing by Łucja Żak: the hall is loud.",
)  # fmt: skip
OFF = SheetResult("Cadence", "each picture for 2 frames", "uneven", "does not fit", "Recut it.")
DELIVERED = replace(
    FILE,
    results=(FITS, LOUD),
    checked="export.mp4, checked 25 Nov 2026, 14:02",
    version=2,
    kept=(KeptFile("FELT_hd-web-master_v02.mp4", 12_345_678, "ab" * 32),),
    changed="The bell is louder.\nLoudness: −20 LUFS, before −23 LUFS.",
)
SENT = replace(
    SHEET, number=2, words="Enjoy.", licence="Europe, online, two years", files=(DELIVERED,)
)


@pytest.mark.parametrize(
    "words",
    [
        "Delivery sheet 2",
        "Enjoy.",
        "1 · HD web master, version 2",
        "Changed since version 1: The bell is louder.",
        "FELT_hd-web-master_v02.mp4 12 345 678",
        "Picture width 1920 px 1920 px fits",
        "Loudness −23 LUFS, ±0.5 LU −20 LUFS accepted",
        "Loudness: Accepted in writing by Łucja Żak: the hall is loud.",
        "export.mp4, checked 25 Nov 2026, 14:02.",
        "It is a caution, not a certificate.",
        "Europe, online, two years",
        "A reminder only",
    ],
)
def test_the_sheet_of_a_delivery_says(words):
    assert words in read(SENT)[1]
    assert FLASH_NOTE.endswith("It is a caution, not a certificate.")


def test_the_clients_answer_stands_where_it_is_signed():
    answered = replace(DELIVERED, answer="Signed off by Noor Haddad, 26 November 2026, 09:00.")
    text = read(replace(SENT, files=(answered,)))[1]
    assert "HD web master, version 2: Signed off by Noor Haddad, 26 November 2026" in text


@pytest.mark.parametrize(
    ("results", "verdict"),
    [
        ((FITS,), "fits"),
        ((FITS, LOUD), "fits or accepted"),
        ((FITS, LOUD, OFF), "does not fit"),
        ((), "not measured"),
    ],
)
def test_what_measuring_came_to_is_said_in_the_list_of_files(results, verdict):
    file = replace(FILE, results=results)
    assert file.verdict == verdict
    assert verdict in read(replace(SHEET, files=(file, FILE)))[1]


def test_many_results_and_long_words_are_all_there():
    long = "Accepted in writing by Wojciech: " + "the hall is very loud and " * 14
    results = tuple(
        SheetResult(f"Item {n}", "wanted " * 12, "found " * 14, "accepted", f"{long}{n}.")
        for n in range(40)
    )
    kept = (KeptFile("a-very-long-file-name-" * 9 + ".mp4", 10**12, "f" * 64),)
    text = read(replace(SENT, files=(replace(DELIVERED, results=results, kept=kept),)))[1]
    assert all(f"Item {n}" in text for n in range(40))
    assert text.count("loud and 39.") == 1
    assert "1 000 000 000 000" in text


def test_words_are_ink_only():
    """Readable in black and white: no colour is more than a shade away from grey."""
    data = PdfReader(BytesIO(delivery_sheet(SHEET, "A4"))).pages[0].get_contents().get_data()
    colours = [
        [float(value) for value in line.split()[:3]]
        for line in data.decode("latin-1").splitlines()
        if line.endswith((" rg", " RG"))
    ]
    assert colours
    assert all(max(colour) - min(colour) < 0.06 for colour in colours)
