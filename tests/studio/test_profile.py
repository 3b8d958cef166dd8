"""The studio's own pages: profile, people, days off."""

from datetime import date

import pytest
from django.urls import reverse

from studio.models import DayOff, Person, Studio
from studio.queries import days_off, work_calendar
from tests import factories

PROFILE = {
    "name": "Lamplight Table",
    "currency": "EUR",
    "paper": "A4",
    "working_weekdays": ["0", "1", "2", "3", "4"],
    "hours_per_day": "7",
    "timezone": "Europe/Warsaw",
    "odds_threshold": "80",
    "circuit_volts": "230",
    "circuit_amps": "16",
    "read_version": "1",
}


def test_owner_changes_the_profile(owner_client):
    owner_client.post(reverse("studio:profile"), PROFILE | {"name": "Żółć & Ωmega 工房"})
    assert Studio.objects.get().name == "Żółć & Ωmega 工房"
    assert Studio.objects.get().version == 2


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("name", "", "This field is required"),
        ("currency", "XYZ", "XYZ"),
        ("working_weekdays", [], "Tick at least one weekday"),
        ("hours_per_day", "0", "greater than or equal to 0.5"),
        ("hours_per_day", "-3", "greater than or equal to 0.5"),
        ("hours_per_day", "99", "less than or equal to 24"),
        ("hours_per_day", "seven", "Enter a number"),
        ("country", "QQ", "No holidays are known"),
        ("circuit_amps", "0", "greater than or equal to 1"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(owner_client, field, value, sentence):
    response = owner_client.post(reverse("studio:profile"), PROFILE | {field: value})
    assert response.status_code == 422
    assert sentence in str(response.context["form"].errors[field])
    assert Studio.objects.get().version == 1


def test_the_second_of_two_editors_sees_both_versions_and_chooses(owner_client):
    owner_client.post(reverse("studio:profile"), PROFILE | {"phone": "first"})
    late = owner_client.post(reverse("studio:profile"), PROFILE | {"phone": "second"})
    assert late.status_code == 409
    page = late.content.decode()
    assert "first" in page
    assert "second" in page
    assert Studio.objects.get().phone == "first"
    chosen = PROFILE | {
        "phone": "second",
        "read_version": late.context["form"].data["read_version"],
    }
    owner_client.post(reverse("studio:profile"), chosen)
    assert Studio.objects.get().phone == "second"


PERSON = {
    "name": "Emre Işık",
    "job": "Model maker",
    "role": "crew",
    "sign_in_name": "",
    "is_active": "on",
    "read_version": "0",
}


def test_owner_adds_somebody_who_only_stands_on_call_sheets(owner_client):
    owner_client.post(reverse("studio:person_new"), PERSON)
    person = Person.objects.get(name="Emre Işık")
    assert person.sign_in_name is None
    assert not person.has_usable_password()


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"sign_in_name": "IDA"}, "sign_in_name"),
        ({"password": "felt and wire at dawn"}, "sign_in_name"),
        ({"sign_in_name": "emre", "password": "short"}, "password"),
        ({"email": "not an address"}, "email"),
    ],
)
def test_a_person_who_cannot_be_is_refused_at_the_field(owner_client, change, field):
    response = owner_client.post(reverse("studio:person_new"), PERSON | change)
    assert response.status_code == 422
    assert field in response.context["form"].errors
    assert Person.objects.count() == 1


def test_the_last_owner_cannot_be_demoted(owner_client, owner):
    change = PERSON | {"name": owner.name, "sign_in_name": "ida", "read_version": "1"}
    response = owner_client.post(reverse("studio:person_edit", args=[owner.pk]), change)
    assert response.status_code == 422
    assert "Somebody must own the studio" in response.content.decode()
    assert Person.objects.get(pk=owner.pk).is_owner


def test_a_new_password_signs_in(owner_client, crew, client):
    change = PERSON | {
        "name": crew.name,
        "sign_in_name": "teo",
        "password": "clay dries overnight",
        "read_version": "1",
    }
    owner_client.post(reverse("studio:person_edit", args=[crew.pk]), change)
    assert client.post(
        reverse("studio:sign_in"), {"username": "teo", "password": "clay dries overnight"}
    ).url == reverse("studio:today")


@pytest.mark.parametrize(
    ("first", "last"), [("2026-05-04", "2026-05-03"), ("2026-05-04", "2031-05-04"), ("", "x")]
)
def test_days_off_that_cannot_be_are_refused(owner_client, first, last):
    response = owner_client.post(reverse("studio:calendar"), {"first": first, "last": last})
    assert response.status_code == 422
    assert not DayOff.objects.exists()


def test_days_off_and_public_holidays_leave_the_calendar(studio):
    # Poland, May 2026: 1 May (Labour Day) and 3 May (Constitution Day) are public holidays.
    # Ustawa z dnia 18 stycznia 1951 r. o dniach wolnych od pracy (from memory).
    studio.country = "PL"
    DayOff.objects.create(first=date(2026, 5, 4), last=date(2026, 5, 5), label="Fair")
    named = days_off(studio, date(2026, 5, 1), date(2026, 5, 10))
    assert [row.day for row in named] == [
        date(2026, 5, 1),
        date(2026, 5, 3),
        date(2026, 5, 4),
        date(2026, 5, 5),
    ]
    calendar = work_calendar(studio, date(2026, 5, 1), years=1)
    assert calendar.working_days(date(2026, 5, 1), date(2026, 5, 8)) == [
        date(2026, 5, 6),
        date(2026, 5, 7),
        date(2026, 5, 8),
    ]


@pytest.mark.parametrize(
    ("country", "region", "day", "holiday"),
    [
        # England and Wales, Banking and Financial Dealings Act 1971 (from memory)
        ("GB", "ENG", date(2026, 8, 31), True),
        # Scotland's summer bank holiday is the first Monday of August (same Act, from memory)
        ("GB", "SCT", date(2026, 8, 31), False),
        ("GB", "SCT", date(2026, 8, 3), True),
        # United States, 5 U.S.C. 6103: fourth Thursday of November (from memory)
        ("US", "", date(2026, 11, 26), True),
    ],
)
def test_public_holidays_follow_country_and_region(studio, country, region, day, holiday):
    studio.country, studio.region = country, region
    found = {row.day for row in days_off(studio, date(2026, 8, 1), date(2026, 12, 1))}
    assert (day in found) is holiday


def test_taking_days_off_back_makes_them_count_again(owner_client, studio):
    stretch = DayOff.objects.create(first=date(2026, 5, 4), last=date(2026, 5, 5))
    owner_client.post(reverse("studio:day_off_remove", args=[stretch.pk]))
    assert not DayOff.objects.exists()


def test_people_page_asks_the_same_of_the_database_for_one_and_for_many(
    owner_client, django_assert_max_num_queries
):
    factories.PersonFactory.create_batch(30)
    with django_assert_max_num_queries(4):
        owner_client.get(reverse("studio:people"))
