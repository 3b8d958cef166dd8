"""A call sheet from the paperwork tab to paper, in a real browser."""

from datetime import timedelta

import pytest

from tests import factories


@pytest.fixture
def film(studio, owner, crew):
    film = factories.ProductionFactory(code="FOX", deadline=None, emergency_care="Clinic, 112")
    setup = factories.SetupFactory(production=film, code="K1")
    for n in range(4):
        factories.ShotFactory(
            production=film, setup=setup, code=f"0{n + 1}0", position=n, description="Fox waves"
        )
    return film


def test_a_call_sheet_is_made_changed_archived_and_brought_back(page, film, accessible):
    page.goto("/productions/FOX/paperwork/")
    accessible(page)
    page.get_by_label("Make the call sheet of").fill(
        (factories.studio_today() + timedelta(days=1)).isoformat()
    )
    page.get_by_role("button", name="Make it").click()
    page.get_by_role("heading", name="New call sheet").wait_for()
    accessible(page)
    assert page.get_by_label("Shot 010, pictures to take").input_value() == "24"
    page.get_by_label("Wrap").fill("09:00")
    page.get_by_label("Teo Lind").fill("08:30")
    page.get_by_role("button", name="Save").click()
    page.get_by_text("The wrap is the call").wait_for()
    assert page.get_by_label("Teo Lind").input_value() == "08:30"
    page.get_by_label("Wrap").fill("17:00")
    page.get_by_role("button", name="Save").click()
    page.get_by_text("Saved. Look it over").wait_for()
    accessible(page)
    pdf = page.request.get(page.get_by_role("link", name="Open the PDF").get_attribute("href"))
    assert pdf.body().startswith(b"%PDF")
    page.get_by_role("link", name="Change", exact=True).click()
    page.get_by_label("Shot 020, pictures to take").fill("")
    page.get_by_label("Notes").fill("Bring the second tail")
    page.get_by_role("button", name="Save").click()
    page.get_by_text("Bring the second tail").wait_for()
    page.get_by_role("button", name="Archive").click()
    page.get_by_text("This call sheet is archived").wait_for()
    accessible(page)
    page.get_by_role("button", name="Bring it back").click()
    page.get_by_role("link", name="Open the PDF").wait_for()


def test_crew_read_the_call_sheet(crew_page, film, accessible):
    sheet = factories.CallSheetFactory(production=film, day=factories.studio_today())
    crew_page.goto("/productions/FOX/paperwork/")
    crew_page.get_by_role("link", name=f"{sheet.day.day} ").first.click()
    crew_page.get_by_role("heading", name="Take care").wait_for()
    accessible(crew_page)
