"""A quote from nothing to accepted, the client on a phone without an account."""

import io
import re

from playwright.sync_api import expect
from pypdf import PdfReader

from shots.models import Production
from shots.services.floor import lay_out_lists
from tests import factories


def start(page, title="The Felt Fox"):
    page.goto("/quotes/new/")
    page.get_by_label("Client", exact=True).select_option(label="Ωmega Tea Rooms")
    page.get_by_label("Title of the film").fill(title)
    page.get_by_label("Your day rate").fill("300")
    page.get_by_role("button", name="Start").click()
    expect(page.get_by_text("This is the draft.")).to_be_visible()


def test_a_quote_from_nothing_to_a_production(page, visitor_page, accessible):
    lay_out_lists(sender=None)
    factories.ClientFactory(name="Ωmega Tea Rooms")
    page.goto("/quotes/new/")
    accessible(page)
    start(page)
    priced = page.locator("#priced")
    expect(priced.get_by_role("row", name="Pictures")).to_contain_text("360")

    # The price follows what is typed; what cannot be is said beside it.
    page.get_by_label("Length of The film").fill("10")
    expect(priced.get_by_role("row", name="Pictures")).to_contain_text("120")
    accessible(page)
    page.get_by_label("Length of The film").fill("-1")
    expect(page.locator("#quote-total")).to_contain_text("enter a number above 0")
    page.get_by_role("button", name="Save", exact=True).first.click()
    expect(page.get_by_text("Not saved yet: 1 entry needs a correction.")).to_be_visible()
    accessible(page)
    page.get_by_label("Length of The film").fill("10")

    page.get_by_label("Budget before tax").fill("6000")
    page.get_by_role("button", name="See what fits").click()
    expect(page.locator("#fits").get_by_text("hard").first).to_be_visible()

    page.get_by_label("Price or % of Puppets and sets").fill("850")
    expect(page.locator("#quote-total")).to_contain_text("€")
    page.get_by_role("button", name="Save and send…").click()
    accessible(page)
    page.get_by_role("button", name="Number it and freeze it").click()
    expect(page.get_by_text("It is frozen.")).to_be_visible()
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

    film = Production.objects.get()
    assert sum(shot.agreed_pictures for shot in film.shots.all()) == 120
    assert film.setups.count() == 3
    page.goto("/quotes/")
    accessible(page)
    page.get_by_role("link", name=re.compile(r"^Quote \d")).click()
    page.get_by_role("link", name="Open the production").click()
    expect(page.get_by_role("heading", name="The Felt Fox")).to_be_visible()


def test_options_and_lines_come_and_move_without_losing_what_is_typed(page, accessible):
    lay_out_lists(sender=None)
    factories.ClientFactory(name="Ωmega Tea Rooms")
    start(page)
    page.get_by_label("Title", exact=True).fill("Typed and not saved")
    page.get_by_role("button", name="Add a sequence").click()
    expect(page.get_by_label("Sequence of Sequence 2")).to_be_focused()
    page.get_by_label("Length of Sequence 2").fill("4.5")
    page.get_by_role("button", name="Add an option beside this one").click()
    expect(page.get_by_label("Option of Option 2")).to_be_focused()
    page.get_by_label("Frame rate of Option 2").fill("12")
    expect(page.locator("#priced")).to_contain_text("instead of 24 on twos")
    page.get_by_label("A line more").select_option(label="discount")
    page.get_by_role("button", name="Add the line").click()
    expect(page.get_by_label("Line of Discount")).to_be_focused()
    page.get_by_label("Price or % of Discount").fill("5")
    page.get_by_role("button", name="Move up: Discount").click()
    labels = page.locator(".lines input[id$='-label']")
    expect(labels.nth(6)).to_have_value("Discount")
    expect(page.get_by_text("Not saved yet", exact=True)).to_be_visible()
    expect(page.get_by_label("Title", exact=True)).to_have_value("Typed and not saved")
    accessible(page)
    page.get_by_role("button", name="Save", exact=True).first.click()
    expect(page.get_by_role("heading", name="Typed and not saved")).to_be_visible()
