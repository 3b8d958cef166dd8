"""The film page's promise and a change of plan tried out, in a real browser."""

from datetime import timedelta

from django.utils import timezone
from playwright.sync_api import expect

from shots.models import Production
from tests.shots.test_days_left import half_shot_film


def test_owner_tries_a_later_deadline_saves_it_and_takes_it_back(page, studio, accessible):
    today = studio.today(timezone.now())
    film = half_shot_film(code="FELT")
    soon, later = today + timedelta(days=3), today + timedelta(days=60)
    Production.objects.update(deadline=soon)
    page.goto("/productions/FELT/")
    accessible(page)
    page.get_by_label("A later deadline").fill(later.isoformat())
    page.get_by_role("button", name="See what it does").click()
    expect(page.get_by_text("Chance of the deadline,", exact=False).first).to_be_visible()
    accessible(page)
    film.refresh_from_db()
    assert film.deadline == soon
    page.get_by_role("button", name="Save this change").click()
    page.get_by_role("button", name="Undo").wait_for()
    film.refresh_from_db()
    assert film.deadline == later
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("Taken back", exact=False)).to_be_visible()
    film.refresh_from_db()
    assert film.deadline == soon
    for address in ("/record/", "/productions/FELT/record/"):
        page.goto(address)
        accessible(page)
