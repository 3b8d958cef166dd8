"""Signing in and the studio's own pages, in a real browser."""

from tests import factories

PAGES = [
    "/studio/",
    "/studio/people/",
    "/studio/people/new/",
    "/studio/days-off/",
    "/studio/lists/",
    "/productions/new/",
]


def test_owner_signs_in(visitor_page, owner, accessible):
    visitor_page.goto("/")
    accessible(visitor_page)
    visitor_page.get_by_label("Sign-in name").fill("ida")
    visitor_page.get_by_label("Password").fill(factories.PASSWORD)
    visitor_page.get_by_role("button", name="Sign in").click()
    visitor_page.get_by_role("link", name="Today").wait_for()


def test_studio_pages_are_accessible(page, accessible):
    for address in PAGES:
        page.goto(address)
        accessible(page)


def test_owner_adds_a_production(page, accessible):
    page.goto("/productions/new/")
    page.get_by_label("Title").fill("The Felt Fox")
    page.get_by_label("Code").fill("FELT")
    page.get_by_label("Frame rate").fill("0")
    page.get_by_label("Contracted runtime").fill("30 s")
    page.get_by_role("button", name="Save").click()
    assert page.get_by_text("Not saved yet").is_visible()
    assert page.get_by_label("Contracted runtime").input_value() == "30 s"
    accessible(page)
    page.get_by_label("Frame rate").fill("12.5")
    page.get_by_role("button", name="Save").click()
    page.wait_for_url("**/productions/FELT/**")
