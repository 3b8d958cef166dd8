"""The calendar: what stands in it, private links, and who is turned away."""

import re
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from icalendar import Calendar

from shots.models import CalendarLink, Wish
from shots.queries.calendar_feed import calendar_events
from shots.services.calendar_links import make_link, revoke_link
from shots.services.plan import add_absence
from studio.models import DayOff
from studio.secret import digest
from studio.trade.ical import calendar_text
from tests import factories

TODAY = date(2026, 3, 2)
NOW = datetime(2026, 3, 2, 8, tzinfo=UTC)


@pytest.fixture
def film(studio):
    return factories.ProductionFactory(code="FOX")


@pytest.fixture
def shots(film):
    setup = factories.SetupFactory(production=film, code="K1")
    return [
        factories.ShotFactory(production=film, setup=setup, code=f"0{n + 1}0", position=n)
        for n in range(6)
    ]


def address(name: str, *args) -> str:
    return reverse(f"shots:{name}", args=["FOX", *args])


def read_back(film, studio) -> dict[str, tuple[date, date]]:
    """First day and the day after the last by summary, as another program reads them."""
    text = calendar_text(film.title, calendar_events(film, studio, TODAY), NOW)
    return {
        str(event["SUMMARY"]): (event["DTSTART"].dt, event["DTEND"].dt)
        for event in Calendar.from_ical(text).walk("VEVENT")
    }


def test_days_milestones_and_the_deadline_are_whole_days(film, shots, studio):
    # icalendar as the reference; RFC 5545 3.6.1: the end of an all-day event is the day after.
    events = read_back(film, studio)
    assert events["FOX: DEADLINE"] == (date(2026, 4, 30), date(2026, 5, 1))
    assert events["FOX: shooting 010, 020, 030"] == (TODAY, date(2026, 3, 3))
    assert events["FOX: first shooting day"][0] == TODAY
    last = max(first for name, (first, _) in events.items() if "shooting 0" in name)
    assert events["FOX: last shot"][0] == events["FOX: set-up K1 is done"][0] == last


def test_days_that_were_shot_stay_in_the_calendar(film, shots, studio):
    for day in (date(2026, 2, 26), date(2026, 2, 27)):
        started = datetime(day.year, day.month, day.day, 8, tzinfo=UTC)
        factories.SessionFactory(
            production=film, day=day, started_at=started, ended_at=started + timedelta(hours=4)
        )
    names = [event.uid for event in calendar_events(film, studio, TODAY)]
    assert f"shot-2026-02-26-{film.pk}@stillcount" in names
    assert len(names) == len(set(names))


def test_days_off_holidays_and_who_is_away_or_part_time_stand_in_it(film, shots, studio, crew):
    studio.country = "PL"
    studio.save()
    DayOff.objects.create(first=date(2026, 3, 5), last=date(2026, 3, 6), label="Stage let out")
    away = {"person": crew, "first": date(2026, 3, 9), "last": date(2026, 3, 10)}
    add_absence(away | {"label": "dentist"})
    add_absence(
        {"person": crew, "first": TODAY, "last": None, "weekdays": [4], "hours": Decimal("3.50")}
    )
    events = calendar_events(film, studio, TODAY)
    days = {}
    for event in events:
        days.setdefault(event.summary, []).append(event.first)
        assert (event.first, event.busy and "shooting" not in event.summary) == (event.last, False)
    # Easter Sunday and Monday 2026 fall on 5 and 6 April (Gregorian computus), days off in Poland.
    off = {day for name, them in days.items() if name.startswith("FOX: off, ") for day in them}
    assert {date(2026, 4, 5), date(2026, 4, 6)} < off
    assert days["FOX: off, Stage let out"] == [date(2026, 3, 5), date(2026, 3, 6)]
    assert days["FOX: Teo Lind is away"] == [date(2026, 3, 9), date(2026, 3, 10)]
    fridays = days["FOX: Teo Lind is there for 3.5 h"]
    assert fridays[:2] == [date(2026, 3, 6), date(2026, 3, 13)]
    assert fridays[-1] == date(2026, 4, 24)  # the last before the deadline, 30 April
    assert "dentist" not in repr(events)
    assert len({event.uid for event in events}) == len(events)


def test_a_film_without_a_plan_still_has_its_deadline(film, shots, studio):
    for shot, other in ((0, 1), (1, 0)):
        Wish.objects.create(shot=shots[shot]).after.add(shots[other])
    assert set(read_back(film, studio)) == {"FOX: first shooting day", "FOX: DEADLINE"}


def test_the_link_is_told_once_and_kept_as_a_digest(crew_client, film):
    answer = crew_client.post(address("calendar_links"), {"label": "My phone"})
    page = answer.content.decode()
    assert "no-store" in answer.headers["Cache-Control"]
    link = CalendarLink.objects.get()
    (secret,) = re.findall(r"/calendar/([\w-]+)\.ics", page)
    assert len(secret) >= 43  # 256 bits in base64 (RFC 4648)
    assert link.digest == digest(secret)
    assert secret not in str(CalendarLink.objects.values())
    assert secret not in crew_client.get(address("calendar_links")).content.decode()
    answer = Client().get(reverse("shots:calendar_feed", args=[secret]))
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert Calendar.from_ical(answer.content).walk("VEVENT")


def test_a_link_needs_somebody_it_is_for(crew_client, film):
    answer = crew_client.post(address("calendar_links"), {"label": ""})
    assert answer.status_code == 422
    assert not CalendarLink.objects.exists()


def test_a_wrong_a_revoked_and_an_archived_films_link_are_all_not_found(film, owner):
    link, secret = make_link(film, "Phone", owner, timezone.now())
    to = reverse("shots:calendar_feed", args=[secret])
    assert Client().get(to).status_code == 200
    assert Client().get(reverse("shots:calendar_feed", args=[secret[:-1]])).status_code == 404
    assert Client().get(reverse("shots:calendar_feed", args=[link.digest])).status_code == 404
    assert Client().post(to).status_code == 405
    film.archived_at = NOW
    film.save()
    assert Client().get(to).status_code == 404
    film.archived_at = None
    film.save()
    revoke_link(link, timezone.now())
    assert Client().get(to).status_code == 404


def test_a_link_says_when_it_was_read_and_ends_after_a_year(owner_client, film, owner):
    now = timezone.now()
    for age, status, said in [(364, 200, "last read"), (366, 404, "expired")]:
        link, secret = make_link(film, "Phone", owner, now - timedelta(days=age))
        to = reverse("shots:calendar_feed", args=[secret])
        assert Client().get(to).status_code == status
        link.refresh_from_db()
        assert (link.last_seen_at is None) == (status == 404)
        assert said in owner_client.get(address("calendar_links")).content.decode()


def test_revoking_from_the_page(owner_client, film, owner):
    link, _ = make_link(film, "Old phone", owner, timezone.now())
    page = owner_client.post(address("calendar_link_revoke", link.pk), follow=True)
    assert "answers nobody any more" in page.content.decode()
    link.refresh_from_db()
    assert link.revoked_at is not None


def test_the_file_is_downloaded(crew_client, film, shots):
    answer = crew_client.get(address("calendar_download"))
    assert 'filename="FOX.ics"' in answer.headers["Content-Disposition"]
    assert Calendar.from_ical(answer.content).walk("VEVENT")
