"""One film from the first call to the delivery sheet, in a real browser, at both sizes."""

import io

from playwright.sync_api import expect
from pypdf import PdfReader

from shots.models import Shot
from shots.services.floor import lay_out_lists


def save(page):
    page.get_by_role("button", name="Save", exact=True).click()


def pdf_text(page, address: str) -> str:
    """The text of the PDF at an address, read back."""
    answer = page.request.get(address)
    assert answer.status == 200
    return "\n".join(sheet.extract_text() for sheet in PdfReader(io.BytesIO(answer.body())).pages)


def a_client_commissions_a_film(page):
    page.goto("/clients/")
    page.get_by_role("link", name="Add").first.click()
    page.get_by_label("Name").fill("Żółć & Ωmega Tea")
    save(page)
    page.get_by_role("link", name="New production").click()
    page.get_by_label("Title").fill("The Felt Fox")
    page.get_by_label("Code").fill("FELT")
    page.get_by_label("Frame rate").fill("24")
    page.get_by_label("Contracted runtime").fill("4 s")
    page.get_by_label("Shooting deadline").fill("2031-05-02")
    save(page)
    expect(page.get_by_text("The Felt Fox is open")).to_be_visible()


def a_set_up_and_two_shots_are_listed(page):
    page.goto("/productions/FELT/setups/new/")
    page.get_by_label("Code").fill("K1")
    page.get_by_label("What it is").fill("Kitchen, wide")
    page.get_by_label("Lamps").fill("Key 650 W\nFill 150 W")
    save(page)
    page.goto("/productions/FELT/shots/import/")
    page.get_by_label("Paste the list").fill(
        "Code,Length,Set-up,Difficulty,Exposure\n010,2 s,K1,medium,2\n020,2 s,K1,easy,2\n"
    )
    page.get_by_role("button", name="Show what will happen").click()
    page.get_by_role("button", name="Take the list in").click()
    expect(page.get_by_text("exactly the contracted 4 s 00 f")).to_be_visible()


def a_session_is_shot(page):
    page.goto("/")
    page.get_by_role("link", name="Start a session").click()
    page.get_by_label("Set-up").select_option(label="K1 Kitchen, wide")
    page.get_by_role("button", name="Start session").click()
    page.get_by_role("spinbutton", name="Kept").first.fill("24")
    page.get_by_role("spinbutton", name="Kept").first.press("Enter")
    page.get_by_role("button", name="All pictures are there: 010 is shot").click()
    expect(page.get_by_text("010 is shot.", exact=True)).to_be_visible()
    page.get_by_role("link", name="Finish…").click()
    page.get_by_role("button", name="Finish session").click()
    expect(page.get_by_text("Finished.", exact=False)).to_be_visible()


def the_days_left_are_promised(page, accessible):
    page.goto("/productions/FELT/")
    expect(page.get_by_text("At your pace so far, shooting most likely ends").first).to_be_visible()
    expect(page.get_by_text("chance of the deadline, Fri 2 May")).to_be_visible()
    accessible(page)
    page.goto("/")
    accessible(page)


def a_call_sheet_is_printed(page):
    page.goto("/productions/FELT/paperwork/")
    page.get_by_role("button", name="Make it").click()
    save(page)
    address = page.get_by_role("link", name="Open the PDF").get_attribute("href")
    sheet = pdf_text(page, address)
    assert "The Felt Fox" in sheet
    assert "Kitchen, wide" in sheet


def the_files_are_promised_checked_and_listed(page, accessible):
    page.goto("/productions/FELT/deliverables/new/")
    page.get_by_label("Name").first.fill("HD web master")
    save(page)
    accessible(page)
    page.get_by_role("checkbox").first.click()
    expect(page.get_by_text("1 of 13 ticked")).to_be_visible()
    sheet = pdf_text(page, "/productions/FELT/delivery-sheet.pdf")
    assert "HD web master" in sheet
    assert "Żółć & Ωmega Tea" in sheet


def test_one_film_from_client_to_delivery_sheet(page, accessible):
    lay_out_lists(sender=None)
    a_client_commissions_a_film(page)
    a_set_up_and_two_shots_are_listed(page)
    assert Shot.objects.count() == 2
    a_session_is_shot(page)
    the_days_left_are_promised(page, accessible)
    a_call_sheet_is_printed(page)
    the_files_are_promised_checked_and_listed(page, accessible)
