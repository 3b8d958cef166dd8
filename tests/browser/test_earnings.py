"""What a film earned, and what the next quote makes of it."""

from playwright.sync_api import expect

from shots.services.floor import lay_out_lists
from tests import factories
from tests.clients.money_cast import accepted_film

SHOTS = "Code,Set-up,Difficulty,Length\nA010,Kuchnia,easy,4\nA020,Kuchnia,hard,2\n"


def a_day_is_shot(film):
    session = factories.SessionFactory(production=film)
    factories.SessionShotFactory(session=session, shot=film.shots.first(), kept=60)


def test_a_delivered_film_is_held_against_its_quote(page, studio, owner, accessible):
    lay_out_lists(sender=None)
    film = accepted_film(factories.ClientFactory(name="Ωmega Tea"), owner, studio)
    a_day_is_shot(film)
    page.goto(f"/productions/{film.code}/")
    expect(page.get_by_role("heading", name="Quoted and measured")).to_be_visible()
    page.get_by_label("It is").select_option(label="delivered")
    page.get_by_role("button", name="Set", exact=True).click()
    page.get_by_role("link", name="Money").click()
    page.get_by_role("link", name="Quoted and actual").click()
    accessible(page)
    page.get_by_label("Hours off the set").fill("6")
    page.get_by_label("Sound").fill("1.005")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("finer than the coins of EUR")).to_be_visible()
    accessible(page)
    page.get_by_label("Sound").fill("120.50")
    page.get_by_label("What else was paid for, 1").fill("Taxi")
    page.get_by_label("What it cost, 1").fill("9")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("An hour earned €")).to_be_visible()
    expect(page.get_by_role("row", name="Taxi").first).to_contain_text("€9.00")
    page.get_by_role("link", name="All productions").click()
    expect(page.get_by_role("img", name=f"{film.code} against its quote")).to_be_visible()
    accessible(page)
    page.get_by_role("link", name="Start a quote from this").click()
    expect(page.get_by_text("60 pictures in 1 session, together with")).to_be_visible()


def test_a_quote_starts_from_a_file(page, studio, owner, accessible):
    lay_out_lists(sender=None)
    factories.ClientFactory(name="Ωmega Tea")
    page.goto("/quotes/new/")
    page.get_by_label("Client", exact=True).select_option(label="Ωmega Tea")
    page.get_by_label("Title of the film").fill("The Felt Fox")
    page.get_by_label("Your day rate").fill("300")
    page.get_by_text("Or from a shot list").click()
    wrong = SHOTS.replace("hard", "wild").encode()
    file = page.get_by_label("Or choose a CSV file")
    file.set_input_files({"name": "shots.csv", "mimeType": "text/csv", "buffer": wrong})
    page.get_by_role("button", name="Start").click()
    expect(page.get_by_text("Line 3: “wild” is not one of")).to_be_visible()
    accessible(page)
    page.get_by_label("Paste the list").fill(SHOTS)
    page.get_by_role("button", name="Start").click()
    expect(page.get_by_label("Length of Kuchnia, easy, 1 shot")).to_have_value("4")
