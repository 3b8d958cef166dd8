"""A quote from nothing to accepted, the client on a phone without an account."""

import io
import re

from playwright.sync_api import expect
from pypdf import PdfReader

from shots.models import Production
from shots.services.floor import lay_out_lists
from tests import factories


def test_a_quote_from_nothing_to_a_production(page, visitor_page, accessible):
    lay_out_lists(sender=None)
    factories.ClientFactory(name="Ωmega Tea Rooms")
    page.goto("/quotes/new/")
    accessible(page)
    page.get_by_label("Client").select_option(label="Ωmega Tea Rooms")
    page.get_by_label("Title of the film").fill("The Felt Fox")
    page.get_by_role("button", name="Start").click()
    expect(page.get_by_text("360", exact=True)).to_be_visible()

    # The price follows what is typed.
    page.get_by_text("The film · 30 s").click()
    page.get_by_label("Seconds").first.fill("10")
    expect(page.get_by_text("120", exact=True)).to_be_visible()
    accessible(page)
    page.get_by_label("Seconds").first.fill("-1")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("Not saved yet: 1 field")).to_be_visible()
    page.get_by_label("Seconds").first.fill("10")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("Saved.", exact=True)).to_be_visible()

    page.get_by_label("Budget before tax").fill("6000")
    page.get_by_role("button", name="See").click()
    expect(page.get_by_role("cell", name="hard").first).to_be_visible()

    page.get_by_role("button", name="Send: number it").click()
    expect(page.get_by_text("is frozen")).to_be_visible()
    page.get_by_role("button", name="Make a private address").click()
    accessible(page)
    address = page.locator(".sample").inner_text().strip()

    # The client has no account.
    visitor_page.goto(address)
    accessible(visitor_page)
    pdf = visitor_page.request.get(f"{address}quote.pdf")
    assert "The Felt Fox" in PdfReader(io.BytesIO(pdf.body())).pages[0].extract_text()
    visitor_page.get_by_label("Your name").fill("Noor Haddad")
    visitor_page.get_by_label("I accept this quote").check()
    visitor_page.get_by_role("button", name="Accept the quote").click()
    expect(visitor_page.get_by_text("Thank you.")).to_be_visible()
    accessible(visitor_page)

    assert Production.objects.get().shots.get().agreed_pictures == 120
    page.reload()
    page.goto("/quotes/")
    accessible(page)
    page.get_by_role("link", name=re.compile(r"^Quote \d")).click()
    page.get_by_role("link", name="Open the production").click()
    expect(page.get_by_role("heading", name="The Felt Fox")).to_be_visible()
