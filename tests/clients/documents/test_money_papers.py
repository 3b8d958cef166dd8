import re
from dataclasses import replace
from io import BytesIO

import pytest
from pypdf import PdfReader

from clients.documents.change_order import change_order_pdf
from clients.documents.invoice import credit_note_pdf, invoice_pdf
from clients.documents.money_tables import PriceRow
from clients.documents.quote import quote_pdf
from tests.clients.documents import papers

EIGHTY = tuple(
    PriceRow(f"Hen number {n} of paper", f"{n}.00 €", "Builds", f"{n} × 1.00 €")
    for n in range(1, 81)
)
MAKERS = [
    (papers.quote, quote_pdf),
    (papers.change_order, change_order_pdf),
    (papers.invoice, invoice_pdf),
    (papers.credit_note, credit_note_pdf),
]


def pages(pdf):
    return [page.extract_text() for page in PdfReader(BytesIO(pdf)).pages]


def text(pdf):
    return re.sub(r"\s+", " ", " ".join(pages(pdf)))


@pytest.mark.parametrize(("paper", "size"), [("A4", (595.276, 841.890)), ("Letter", (612, 792))])
@pytest.mark.parametrize(("paper_of", "pdf_of"), MAKERS)
def test_each_paper_is_of_the_size_asked_for(paper_of, pdf_of, paper, size):
    # ISO 216 and ANSI sizes in points (verified in a second text)
    box = PdfReader(BytesIO(pdf_of(paper_of(paper=paper)))).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(size, abs=0.01)


@pytest.mark.parametrize(
    "receiver",
    [papers.CLIENT, papers.LONG_CLIENT, papers.NO_SPACES],
    ids=["mixed scripts", "long", "no spaces"],
)
@pytest.mark.parametrize(("paper_of", "pdf_of"), MAKERS)
def test_any_name_prints_in_full(paper_of, pdf_of, receiver):
    printed = re.sub(r"\s", "", text(pdf_of(paper_of(receiver=receiver))))
    assert re.sub(r"\s", "", receiver.name) in printed


@pytest.mark.parametrize(("paper_of", "pdf_of"), MAKERS)
def test_a_name_longer_than_a_page_runs_on_to_the_next(paper_of, pdf_of):
    printed = pages(pdf_of(paper_of(receiver=papers.LONGER_THAN_A_PAGE)))
    assert "Felt and wire" in printed[0]
    assert "Felt and wire" in printed[1]


def test_a_usual_quote_has_two_pages_and_everything_on_it():
    printed = pages(quote_pdf(papers.quote()))
    assert len(printed) == 2
    whole = re.sub(r"\s+", " ", " ".join(printed))
    for words in (
        "Quote 2026-014, revision 2",
        "A fox of grey felt counts paper hens",
        "Storyboard and two puppets",
        "includes Animator, Assistant, Set-ups",
        "21 530.82 €",
        "at picture lock 40 %",
        "On request, not in the price",
        "Delivery 17 April 2026",
        "one more second, before tax",
        "2 revision rounds are included.",
        "We accept quote 2026-014, revision 2 as described here. It is valid until 31 March 2026.",
        "Signature",
    ):
        assert words in whole


def test_options_stand_side_by_side_with_their_difference():
    difference = "24 on twos instead of 12 on ones: the same pictures, 0 days more."
    twice = (*papers.LINES[:3], PriceRow("Storyboard", "99.00 €"))
    options = (papers.option(), papers.option("24 on twos", twice, difference))
    printed = pages(quote_pdf(papers.quote(options)))
    assert len(printed) <= 3
    whole = re.sub(r"\s+", " ", " ".join(printed))
    for words in (
        "12 on ones 24 on twos Length 15 s 00 f 15 s 00 f",
        difference,
        "Storyboard 1 140.00 € 1 140.00 €",
        "Edit 975.00 € –",
        "Storyboard – 99.00 €",  # a label an option has twice
        "Price 21 530.82 € 21 530.82 €",
        "at picture lock (40 %) 8 612.33 € 8 612.33 €",
        "Every price assumes",
    ):
        assert words in whole


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_eighty_lines_run_over_pages_with_their_header(paper):
    printed = pages(quote_pdf(papers.quote((papers.option(lines=EIGHTY),), paper=paper)))
    whole = " ".join(printed)
    assert all(f"Hen number {n} of paper" in whole for n in range(1, 81))
    full = [page for page in printed if "Hen number" in page]
    assert len(full) > 1
    assert all("Amount" in page for page in full)


FOLDED = tuple(f"folded prop {n} of felt and wire" for n in range(20))


@pytest.mark.parametrize("before", range(4, 11))
def test_a_tall_line_brings_its_header_to_the_next_page_alone(before):
    tall = PriceRow("Figures", "900.00 €", includes=FOLDED)
    lines = (*(PriceRow(f"Hen {n}", "10.00 €", includes=FOLDED[:3]) for n in range(before)), tall)
    option = replace(papers.option(lines=lines), extras=(), payments=())
    for page in pages(quote_pdf(papers.quote((option,)))):
        assert page.count("Amount") <= 1


@pytest.mark.parametrize("before", range(8))
def test_no_page_ends_with_the_name_of_a_group(before):
    first = [PriceRow(f"Hen {n}", "10.00 €") for n in range(before)]
    grouped = [PriceRow(f"Hen {n} of wire", "10.00 €", f"Group {n // 3}") for n in range(60)]
    for page in pages(quote_pdf(papers.quote((papers.option(lines=(*first, *grouped)),)))):
        rows = re.findall(r"^ ?(Hen|Group) \d", page, re.MULTILINE)
        assert rows[-1:] != ["Group"]


def test_a_line_taller_than_a_page_prints_under_the_name_of_its_group():
    tall = PriceRow("Figures", "900.00 €", "Builds", includes=FOLDED * 40)
    lines = (tall, PriceRow("Sets", "100.00 €", "Builds"))
    whole = text(quote_pdf(papers.quote((papers.option(lines=lines),))))
    assert whole.count("folded prop 19") == 40


def test_a_credit_note_names_its_invoice():
    printed = text(credit_note_pdf(papers.credit_note()))
    assert "Credit note 2026-032" in printed
    assert "2026-031" in printed
    assert "drawn by the client" in printed


def test_an_invoice_says_what_to_pay_and_by_when():
    printed = text(invoice_pdf(papers.invoice()))
    for words in ("Invoice 2026-031", "17 March 2026", "21 530.82 €", "give the invoice number"):
        assert words in printed


def test_a_change_order_shows_what_was_agreed_beside_what_it_becomes():
    printed = text(change_order_pdf(papers.change_order()))
    assert "Length 15 s 00 f 17 s 00 f" in printed
    assert "Coda added +2 s 00 f +24" in printed
    assert "All else stays as agreed." in printed


@pytest.mark.parametrize(("paper_of", "pdf_of"), MAKERS)
def test_the_same_paper_gives_the_same_bytes(paper_of, pdf_of):
    assert pdf_of(paper_of()) == pdf_of(paper_of())
