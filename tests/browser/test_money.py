"""From an accepted quote to the last payment: change order, invoices, money that comes in."""

import io
from datetime import UTC, datetime

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from clients.models import Invoice
from clients.services import quotes
from shots.models import Production
from shots.services.floor import lay_out_lists
from studio.models import Studio
from tests import factories
from tests.clients.money_cast import two_shots
from tests.clients.quote_cast import drafted


@pytest.fixture
def client(owner):
    lay_out_lists(sender=None)
    return factories.ClientFactory(name="Żółć & Ωmega Tea", payment_days=14)


def pdf_text(page: Page, address: str) -> str:
    answer = page.request.get(address)
    assert answer.status == 200
    return "\n".join(one.extract_text() for one in PdfReader(io.BytesIO(answer.body())).pages)


def private_address(page: Page) -> str:
    page.get_by_role("button", name="Make a private address").click()
    return page.locator(".sample").inner_text().strip()


def the_client_accepts_the_quote(page, visitor, quote):
    page.goto(f"/quotes/{quote.pk}/")
    visitor.goto(private_address(page))
    visitor.get_by_label("Your name").fill("Noor Haddad")
    visitor.get_by_label("I accept this quote").check()
    visitor.get_by_role("button", name="Accept the quote").click()
    expect(visitor.get_by_text("Thank you.")).to_be_visible()


def a_change_order_is_sent(page, film, accessible) -> str:
    page.goto(f"/productions/{film.code}/money/")
    accessible(page)
    page.get_by_role("button", name="Start a change order").click()
    length = page.locator("form[action$='length/']")
    length.get_by_label("Shot").select_option(index=1)
    length.get_by_label("New length").fill("15")
    length.get_by_role("button", name="Give it this length").click()
    expect(page.get_by_text("lengthened from 10 s 00 f to 15 s 00 f")).to_be_visible()
    page.get_by_role("button", name="Take out 010").click()
    accessible(page)
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("lengthened from 10 s 00 f to 15 s 00 f")).to_be_visible()
    page.get_by_text("Add a line").click()
    page.get_by_label("Line", exact=True).fill("A wire hen")
    page.get_by_label("Amount before tax").fill("400")
    page.get_by_label("Tax %").fill("10")
    page.get_by_role("button", name="Add the line").click()
    page.get_by_label("What changes, in a few words").fill("A longer look")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("Saved.", exact=True)).to_be_visible()
    accessible(page)
    page.get_by_role("button", name="Number it and freeze it").click()
    expect(page.get_by_text("It is frozen.")).to_be_visible()
    address = private_address(page)
    accessible(page)
    return address


def the_client_accepts_the_change(visitor, address, accessible):
    visitor.goto(address)
    accessible(visitor)
    paper = pdf_text(visitor, f"{address}change-order.pdf")
    for words in ("A longer look", "A wire hen", "+60", "Żółć & Ωmega Tea"):
        assert words in paper
    visitor.get_by_label("Your name").fill("Noor Haddad")
    visitor.get_by_label("I accept this change").check()
    visitor.get_by_role("button", name="Accept the change").click()
    expect(visitor.get_by_text("Thank you.")).to_be_visible()
    accessible(visitor)


def the_first_part_and_the_change_are_invoiced(page, film, accessible):
    page.goto(f"/productions/{film.code}/money/")
    page.get_by_label("on acceptance", exact=True).check()
    page.get_by_label("on acceptance of the change").check()
    accessible(page)
    page.get_by_role("button", name="Invoice what is ticked").click()
    page.get_by_label("How to pay").fill("Account 000 111 222")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("Saved.", exact=True)).to_be_visible()
    accessible(page)
    page.get_by_role("button", name="Issue it").click()
    expect(page.get_by_text("It is frozen.")).to_be_visible()
    accessible(page)
    paper = pdf_text(page, page.get_by_role("link", name="PDF").get_attribute("href"))
    for words in ("Account 000 111 222", "A longer look", "Tax 20 %", "Tax 10 %", "40.00"):
        assert words in paper


def it_is_paid_in_two_parts(page, accessible):
    owed = page.get_by_label("Sum", exact=True).input_value()
    page.get_by_label("Sum", exact=True).fill("100000")
    page.get_by_role("button", name="Note the payment").click()
    expect(page.get_by_text("note no more here")).to_be_visible()
    accessible(page)
    page.get_by_label("Sum", exact=True).fill("100")
    page.get_by_role("button", name="Note the payment").click()
    expect(page.get_by_text("paid in part").first).to_be_visible()
    page.get_by_role("button", name="Take back").click()
    expect(page.get_by_text("The payment was taken back")).to_be_visible()
    accessible(page)
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("paid in part").first).to_be_visible()
    assert float(page.get_by_label("Sum", exact=True).input_value()) == float(owed) - 100
    page.get_by_role("button", name="Note the payment").click()
    expect(page.locator(".status", has_text="paid")).to_be_visible()


def test_a_film_is_changed_invoiced_and_paid(page, visitor_page, accessible, client, owner):
    draft = drafted(client, owner, option=two_shots(), tax="20")
    studio = Studio.objects.get()
    now = datetime.now(UTC)
    quote = quotes.send_quote(draft, studio, now, studio.today(now))
    the_client_accepts_the_quote(page, visitor_page, quote)
    film = Production.objects.get()
    address = a_change_order_is_sent(page, film, accessible)
    the_client_accepts_the_change(visitor_page, address, accessible)
    assert film.shots.get(code="010").agreed_pictures == 180
    the_first_part_and_the_change_are_invoiced(page, film, accessible)
    it_is_paid_in_two_parts(page, accessible)
    page.goto("/invoices/")
    expect(page.get_by_text("Invoice 20")).to_be_visible()
    accessible(page)


def test_an_invoice_of_its_own_lines_is_credited(page, accessible, client):
    page.goto("/invoices/")
    accessible(page)
    page.get_by_role("link", name="New invoice").click()
    page.get_by_label("Client", exact=True).select_option(label="Żółć & Ωmega Tea")
    page.get_by_label("What for").fill("Sketches")
    accessible(page)
    page.get_by_role("button", name="Start", exact=True).click()
    page.get_by_label("What", exact=True).first.fill("Felt moon")
    page.get_by_label("Quantity").first.fill("3")
    page.get_by_label("Price before tax").first.fill("0.99")
    page.get_by_label("Tax %").first.fill("120")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("is 120: enter 100 or less")).to_be_visible()
    accessible(page)
    page.get_by_label("Tax %").first.fill("20")
    page.get_by_role("button", name="Save", exact=True).click()
    # EN 16931 worked row: 3 × 0.99 at 20 % is 0.59 on the total (computed).
    expect(page.get_by_text("€0.59")).to_be_visible()
    page.get_by_role("button", name="Issue it").click()
    page.get_by_text("Credit it, in part or whole").click()
    page.get_by_label("Why").fill("Wrong moon")
    page.get_by_role("button", name="Start a credit note").click()
    accessible(page)
    page.get_by_role("button", name="Issue it").click()
    expect(page.get_by_text("It is frozen.")).to_be_visible()
    accessible(page)
    paper = pdf_text(page, page.get_by_role("link", name="PDF").get_attribute("href"))
    assert "Wrong moon" in paper
    assert [one.reference[-3:] for one in Invoice.objects.order_by("number")] == ["001", "002"]
