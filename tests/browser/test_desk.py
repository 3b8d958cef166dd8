"""From a first call to the delivery sheet, at the desk, in a real browser."""

import re

from tests import factories


def test_a_client_gets_a_film_and_its_deliverables(page, accessible):
    page.goto("/clients/")
    accessible(page)
    page.get_by_role("link", name="Add a client").click()
    page.get_by_label("Name").fill("Żółć Ωmega 紙")
    page.get_by_label("Currency").fill("XXX")
    page.get_by_role("button", name="Save").click()
    assert page.get_by_text("not an active currency code").is_visible()
    accessible(page)
    page.get_by_label("Currency").fill("pln")
    page.get_by_role("button", name="Save").click()

    page.get_by_role("link", name="Add a contact").click()
    page.get_by_label("Name").fill("Łucja Żak")
    page.get_by_role("button", name="Save").click()
    page.get_by_text("Łucja Żak was added").wait_for()
    accessible(page)

    page.get_by_role("link", name="New production").click()
    page.get_by_label("Title").fill("The Felt Fox")
    page.get_by_label("Code").fill("FELT")
    page.get_by_label("Frame rate").fill("30")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("link", name="Add the first file").click()
    page.get_by_label("Name", exact=False).first.fill("HD web master")
    page.get_by_label("Frame rate").fill("24")
    accessible(page)
    page.get_by_role("button", name="Save").click()
    page.get_by_text("15 into 24 is uneven").wait_for()

    page.get_by_role("checkbox", name="First and last picture").click()
    page.get_by_text("1 of 13 ticked").wait_for()
    assert page.get_by_text(re.compile("^Ida Morrow, ")).is_visible()
    page.get_by_role("checkbox", name="First and last picture").press("Space")
    page.get_by_text("0 of 13 ticked").wait_for()
    accessible(page)
    page.get_by_role("link", name="Deliveries").click()
    page.get_by_text("0 of 13").wait_for()
    accessible(page)


def test_clients_are_found_as_you_type_and_brought_back(page, accessible):
    factories.ContactFactory(client__name="Ωmega Tea Rooms", name="Emre Işık")
    factories.ClientFactory(name="Museum of Small Sounds")
    page.goto("/clients/")
    page.get_by_label("Name, contact or note").type("isik")
    page.get_by_text("1 of 2 clients found").wait_for()
    assert page.get_by_text("Museum of Small Sounds").count() == 0
    page.get_by_role("link", name="Ωmega Tea Rooms").click()
    page.get_by_role("button", name="Archive").click()
    page.get_by_text("Ωmega Tea Rooms was archived").wait_for()
    accessible(page)
    page.get_by_role("button", name="Undo").click()
    page.get_by_role("heading", name="Ωmega Tea Rooms").wait_for()
