"""A session beside the set, from start to correction, in a real browser."""

import pytest
from playwright.sync_api import expect

from shots.models import Lamp, Session, SessionShot
from shots.services.floor import lay_out_lists
from shots.services.session_counts import add_pictures
from tests import factories

SMALLEST_TAP = 44  # px, the house's rule for pages used with a thumb


@pytest.fixture
def production(studio):
    lay_out_lists(sender=None)
    return factories.ProductionFactory(code="FELT")


@pytest.fixture
def setup(production):
    setup = factories.SetupFactory(production=production, code="S01", name="Kitchen, wide")
    Lamp.objects.create(setup=setup, name="Key", watts=650)
    return setup


@pytest.fixture
def shot(setup):
    return factories.ShotFactory(
        production=setup.production, setup=setup, code="A010", description="Λύκος lifts the lid"
    )


def tap_targets_are_big(page) -> None:
    for button in page.locator("main .floor button:visible").all():
        box = button.bounding_box()
        assert box["height"] >= SMALLEST_TAP, button.inner_text()
        assert box["width"] >= SMALLEST_TAP, button.inner_text()


def test_crew_shoots_a_session(crew_page, crew, shot, setup, accessible):
    page = crew_page
    page.goto(f"/productions/FELT/sessions/start/?setup={setup.pk}")
    accessible(page)
    page.get_by_label("Camera locked off").check()
    page.get_by_role("button", name="Start session").click()
    expect(page.get_by_text("7 checks unticked", exact=False)).to_be_visible()
    accessible(page)
    tap_targets_are_big(page)

    kept = page.get_by_role("spinbutton", name="Kept")
    discarded = page.get_by_role("spinbutton", name="Discarded")
    more = page.get_by_role("button", name="+1 kept, A010")
    for _ in range(9):
        more.click()  # faster than the answers come back: none is lost
    page.get_by_role("button", name="+5 discarded, A010").click()
    expect(kept).to_have_value("9")
    expect(discarded).to_have_value("5")
    page.get_by_role("button", name="Undo").click()
    expect(discarded).to_have_value("0")

    # Somebody else taps before a number is typed over the nine.
    session = Session.objects.get()
    add_pictures(session, shot, "kept", 2)
    kept.fill("24")
    kept.press("Enter")
    expect(page.get_by_text("11 kept stand for A010, you typed 24")).to_be_visible()
    accessible(page)
    page.get_by_role("button", name="Make it 24").click()
    expect(kept).to_have_value("24")
    kept.fill("-3")
    kept.press("Tab")
    expect(page.get_by_text("Pictures are 0 or more")).to_be_visible()
    assert SessionShot.objects.get().kept == 24

    page.get_by_text("Something went wrong…").click()
    page.get_by_role("button", name="flicker").click()
    expect(page.get_by_text("Noted: flicker, A010 at picture 24.")).to_be_visible()
    page.get_by_role("button", name="All pictures are there: A010 is shot").click()
    expect(page.get_by_text("A010 is shot.", exact=True)).to_be_visible()

    page.get_by_role("button", name="Pause").click()
    accessible(page)
    page.get_by_role("button", name="Shoot on").click()
    page.get_by_role("link", name="Finish…").click()
    page.get_by_label("Set-up (min)").fill("90")
    page.get_by_role("button", name="Finish session").click()
    expect(page.get_by_text("longer than the session", exact=False)).to_be_visible()
    accessible(page)
    page.get_by_label("Set-up (min)").fill("0")
    page.get_by_role("button", name="Finish session").click()
    expect(page.get_by_text("Finished.", exact=False)).to_be_visible()
    accessible(page)

    page.get_by_role("link", name="Correct").click()
    accessible(page)
    page.get_by_label("A010 kept").fill("23")
    page.get_by_role("button", name="Save").click()
    page.get_by_text("Who changed what").click()
    changed = page.get_by_role("row", name="A010 kept").first
    expect(changed.get_by_role("cell")).to_contain_text(["24", "23"])
    accessible(page)


def test_owner_writes_a_lock_card(page, production, accessible):
    page.goto("/productions/FELT/setups/new/")
    page.get_by_label("Code").fill("S01")
    page.get_by_label("Lamps").fill("Key 650 W\nFill")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("Line 2, “Fill”", exact=False)).to_be_visible()
    accessible(page)
    page.get_by_label("Lamps").fill("Key 650 W\nSun 3 kW")
    page.get_by_role("button", name="Save").click()
    accessible(page)
    page.get_by_role("link", name="S01").click()
    expect(page.get_by_text("spread the lamps", exact=False)).to_be_visible()
    accessible(page)
    page.get_by_role("button", name="Archive").click()
    page.get_by_role("button", name="Bring it back").click()
    page.get_by_role("link", name="Start a session here").wait_for()


def test_sessions_are_listed_by_day(page, shot, accessible):
    session = factories.SessionFactory(production=shot.production, setup_minutes=60)
    factories.SessionShotFactory(session=session, shot=shot, kept=24, discarded=2)
    page.goto("/productions/FELT/sessions/")
    expect(page.get_by_text("24 kept, 2 discarded in 4.0 h · 8.0 an hour")).to_be_visible()
    accessible(page)
    page.goto("/productions/FELT/sessions/enter/")
    accessible(page)
