"""From the plan to a revised call sheet on a phone, in a real browser."""

import pytest
from django.utils import timezone

from shots.models import CallSheet, Wish
from shots.services.call_sheet_issues import call_sheet_from_plan, issue_call_sheet
from shots.services.plan import Hand
from tests import factories


@pytest.fixture
def film(studio, owner, crew):
    studio.working_weekdays = list(range(7))
    studio.save()
    film = factories.ProductionFactory(
        code="FOX", start=None, deadline=None, emergency_care="Clinic, 112"
    )
    for code, count in (("K1", 3), ("S1", 3)):
        setup = factories.SetupFactory(production=film, code=code)
        for n in range(count):
            factories.ShotFactory(
                production=film, setup=setup, code=f"{code}{n}", description="Fox waves"
            )
    return film


def day_of(page, code: str) -> str:
    """The date a shot is begun on."""
    shot = page.get_by_role("link", name=code, exact=True)
    return page.locator("[data-day]", has=shot).first.get_attribute("data-day")


def test_drag_pin_replan_issue_and_revise(page, film, accessible):
    page.goto("/productions/FOX/plan/")
    accessible(page)
    days = [one.get_attribute("data-day") for one in page.locator("[data-day]").all()]
    assert day_of(page, "K10") == days[0]

    # The last shot is dragged to the first day: it stands there, and another made way.
    # (A window as tall as the page: the driver scrolls under a held mouse button.)
    page.set_viewport_size({"width": page.viewport_size["width"], "height": 2600})
    last = page.locator("[data-drag^='shot:']", has_text="S12")
    last.drag_to(page.locator(f"[data-day='{days[0]}']"))
    page.get_by_text("S12 was pinned to").first.wait_for()
    assert day_of(page, "S12") == days[0]
    assert Wish.objects.get(shot__code="S12").pinned.isoformat() == days[0]
    accessible(page)

    # By keyboard: a later day, then undo.
    page.get_by_role("button", name="Unpin S12").press("Enter")
    page.get_by_text("S12 is no longer pinned.").first.wait_for()
    page.get_by_role("button", name="Undo").click()
    page.get_by_text("Taken back: S12 is no longer pinned.").wait_for()
    page.get_by_role("button", name="Pin K10 to").press("Enter")
    page.get_by_text("K10 was pinned to").first.wait_for()

    first = page.locator(f"[data-day='{days[0]}']")
    first.get_by_role("button", name="Make the call sheet").click()
    page.get_by_text("Not handed out yet.").wait_for()
    accessible(page)
    page.get_by_role("button", name="Issue revision A").click()
    page.get_by_text("Issued as no. 1, revision A.").wait_for()
    page.get_by_role("link", name="Change", exact=True).click()
    page.get_by_label("Notes").fill("Fog machine at noon")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("button", name="Issue revision B").click()
    page.get_by_text("No. 1, revision B", exact=True).wait_for()
    accessible(page)


def test_crew_read_todays_sheet_and_its_revision(crew_page, film, studio, owner, accessible):
    hand = Hand(studio, owner, timezone.now())
    sheet = call_sheet_from_plan(film, hand.today, hand)
    issue_call_sheet(sheet, hand)
    CallSheet.objects.filter(pk=sheet.pk).update(notes="Fog machine at noon")
    issue_call_sheet(sheet, hand)
    crew_page.goto("/")
    crew_page.get_by_role("link", name="Call sheet", exact=True).click()
    crew_page.get_by_text("No. 1, revision B", exact=True).wait_for()
    crew_page.get_by_text("The notes changed.").wait_for()
    accessible(crew_page)


def test_beats_are_worked_out_while_typing(page, film, accessible):
    shot = film.shots.first()
    page.goto(f"/productions/FOX/shots/{shot.pk}/beats/")
    page.get_by_label("What happens, one beat a line").press_sequentially("hold 12 f")
    page.get_by_text("12 frames").wait_for()
    page.get_by_role("button", name="Keep, and give the shot this length").click()
    page.get_by_text("The shot has this length.").wait_for()
    accessible(page)
    for path in ("paper/", "paper/gauge/?travel=90&unit=degrees&pictures=8&ease=both",
                 "plan/people/", f"plan/shots/{shot.pk}/", "calendar/", "take-in/"):  # fmt: skip
        page.goto(f"/productions/FOX/{path}")
        accessible(page)
