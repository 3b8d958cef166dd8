"""The plan tab: what fills which day, moving by hand, wishes, absences, comparing and undoing."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from shots.models import PlanStep, Shot, Wish
from shots.queries.plan import standing
from shots.queries.plan_page import plan_page
from shots.services.plan import (
    Hand,
    add_absence,
    keep_wishes,
    pin_setup,
    pin_shot,
    undo_step,
    unpin_shot,
)
from studio.errors import EditedMeanwhile, NotPossible
from studio.models import DayOff
from tests import factories

TODAY = date(2026, 3, 2)  # a Monday; the film starts that day
FIRST, SECOND, THIRD = TODAY, date(2026, 3, 3), date(2026, 3, 4)
NO_WISHES = {
    "pinned": None, "earliest": None, "latest": None, "priority": 0, "after": [], "people": [],
}  # fmt: skip


@pytest.fixture
def film(studio):
    return factories.ProductionFactory(code="FOX")


@pytest.fixture
def shots(film):
    """Film order K1, S1, K1, S1; each takes a good 4 h (48 pictures, 12 an hour assumed)."""
    setups = [factories.SetupFactory(production=film, code=code) for code in ("K1", "S1")]
    return [
        factories.ShotFactory(
            production=film, setup=setups[n % 2], code=f"0{n + 1}0", position=n, screen_frames=96
        )
        for n in range(4)
    ]


@pytest.fixture
def hand(studio, owner):
    # Noon in Warsaw on the first day.
    now = timezone.make_aware(timezone.datetime(2026, 3, 2, 12), studio.zone)
    return Hand(studio, owner, now)


def first_days(film, studio) -> dict[str, date]:
    """The day each shot is begun, by code."""
    return {shot.code: shot.first for shot in standing(film, studio, TODAY).made().shots}


def page_of(film, studio, **kwargs):
    return plan_page(film, studio, TODAY, **kwargs)


# What the plan says


def test_shots_of_one_set_up_follow_each_other(film, shots, studio):
    page = page_of(film, studio)
    order = [one.shot.code for day in page.days for block in day.blocks for one in block.shots]
    assert list(dict.fromkeys(order)) == ["010", "030", "020", "040"]
    # Film order builds K1, S1, K1, S1: four times; the plan builds each once.
    assert "2 set-up changes fewer" in page.saving
    assert "It needs 2 set-up changes, and no order needs fewer." in page.saving


def test_hours_filled_pass_the_hours_there_by_a_scrap_at_each_end_at_most(film, shots, studio):
    page = page_of(film, studio)
    assert page.days[0].filled_words == "7.0 of 7 h"
    assert all(day.planned.filled < day.planned.hours + 0.5 for day in page.days)


def test_a_shot_split_over_days_shares_its_pictures(film, studio):
    factories.ShotFactory(production=film, code="010", screen_frames=480)  # 240 pictures, over 20 h
    page = page_of(film, studio)
    parts = [one for day in page.days for block in day.blocks for one in block.shots]
    assert [part.work.part for part in parts] == list(range(1, len(parts) + 1))
    assert len(parts) >= 3
    assert sum(part.pictures for part in parts) == pytest.approx(240, abs=1)
    assert any("longer than a day: it is split" in note for note in page.notes)


def test_what_would_slip_is_marked(film, shots, studio):
    film.deadline = SECOND
    film.save()
    page = page_of(film, studio)
    slipping = {
        one.shot.code
        for day in page.days
        for block in day.blocks
        for one in block.shots
        if one.slips
    }
    assert slipping == {"020", "040"}
    assert "2 of them would miss the deadline, Tuesday 3 March 2026." in page.sentence


def test_no_working_day_before_the_deadline_is_said(film, shots, studio):
    film.start, film.deadline = None, TODAY
    film.save()
    DayOff.objects.create(first=TODAY, last=TODAY)
    page = page_of(film, studio)
    assert "There is no working day left up to the deadline, 2 March 2026." in page.notes


def test_a_week_without_working_days_plans_nothing_and_says_so(film, shots, studio):
    studio.working_weekdays = []
    studio.save()
    page = page_of(film, studio)
    assert page.days == ()
    assert page.sentence == "4 shots left, and no day to shoot on."
    assert page.left_out[0][1] == "there is no working day to put it on"


def test_done_and_cut_shots_are_not_planned(film, shots, studio):
    Shot.objects.filter(code__in=["010", "020"]).update(status="shot")
    Shot.objects.filter(code="030").update(status="cut")
    assert set(first_days(film, studio)) == {"040"}


def test_a_film_without_shots_says_how_it_comes_to_a_plan(film, studio):
    assert page_of(film, studio).sentence.startswith("The film has no shots yet")


def test_a_film_all_shot_has_nothing_left_to_plan(film, shots, studio):
    Shot.objects.update(status="shot")
    assert page_of(film, studio).sentence.startswith("Every shot is shot")


def test_set_ups_without_shots_are_named_and_left_out(film, shots, studio):
    factories.SetupFactory(production=film, code="X9")
    assert [setup.code for setup in page_of(film, studio).empty_setups] == ["X9"]


def test_shots_without_a_set_up_are_planned_too(film, studio):
    factories.ShotFactory(production=film, code="900")
    (day, *_) = page_of(film, studio).days
    assert day.blocks[0].setup is None
    assert day.blocks[0].shots[0].shot.code == "900"


# Moving by hand


def test_a_pinned_shot_starts_on_its_day_and_the_rest_flows_round_it(film, shots, studio, hand):
    assert first_days(film, studio)["040"] > FIRST
    pin_shot(shots[3], FIRST, hand)
    days = first_days(film, studio)
    assert days["040"] == FIRST
    assert set(days) == {"010", "020", "030", "040"}
    page = page_of(film, studio)
    assert page.since.act == "040 was pinned to Monday 2 March 2026."
    assert "040" in {one.code for one in page.moved}
    unpin_shot(shots[3], hand)
    assert first_days(film, studio)["040"] > FIRST


@pytest.mark.parametrize(
    ("day", "sentence"),
    [
        (date(2026, 3, 7), "Saturday 7 March 2026 is not a working day"),
        (date(2026, 2, 27), "Friday 27 February 2026 is past"),
        (date(2099, 1, 1), "is not a working day of this plan"),
    ],
)
def test_a_pin_to_a_day_that_is_not_worked_is_refused(film, shots, hand, day, sentence):
    with pytest.raises(NotPossible, match=sentence):
        pin_shot(shots[0], day, hand)
    assert not PlanStep.objects.exists()


def test_a_day_off_put_over_a_pinned_day_is_said(film, shots, studio, hand):
    pin_shot(shots[0], SECOND, hand)
    DayOff.objects.create(first=SECOND, last=SECOND, label="Power cut")
    page = page_of(film, studio)
    assert SECOND not in {day.planned.date for day in page.days}
    assert any(
        "010 is pinned to 3 March 2026, but that is not a working day" in note
        for note in page.notes
    )


def test_a_pin_in_the_past_lets_go_and_says_so(film, shots, studio, hand):
    pin_shot(shots[0], FIRST, hand)
    page = plan_page(film, studio, THIRD)
    assert any("010 was pinned to Monday 2 March 2026, which is past" in n for n in page.notes)


def test_a_set_up_moves_as_a_whole(film, shots, studio, hand):
    assert first_days(film, studio)["010"] == FIRST
    pin_setup(film, shots[1].setup, FIRST, hand)
    days = first_days(film, studio)
    # Building takes 1.5 h of the 7 and a shot a good 4: the second starts on the same day.
    assert [Wish.objects.get(shot=shots[n]).pinned for n in (1, 3)] == [FIRST, FIRST]
    assert days["020"] == days["040"] == FIRST
    assert days["010"] == SECOND


def test_no_shot_of_a_set_up_moved_to_later_stays_behind(film, shots, studio, hand):
    """On a day of 2 h only the first begins; the second follows it and stays with it."""
    factories.SessionFactory(
        production=film, setup=shots[0].setup, day=date(2026, 2, 27),
        started_at=hand.now - timedelta(days=3), ended_at=hand.now - timedelta(days=3, hours=-1),
    )  # fmt: skip
    add_absence({"person": hand.by, "first": SECOND, "last": SECOND, "hours": Decimal(2)})
    pin_setup(film, shots[0].setup, SECOND, hand)
    plan = standing(film, studio, TODAY).made()
    assert not plan.notes
    assert [day.shots for day in plan.days[:3]] == [("020",), ("010",), ("010", "030")]


def test_a_set_up_without_shots_left_cannot_be_moved(film, shots, hand):
    empty = factories.SetupFactory(production=film, code="X9")
    with pytest.raises(NotPossible, match="Set-up X9 has no shot left"):
        pin_setup(film, empty, FIRST, hand)


def test_undo_puts_everything_back_step_by_step(film, shots, studio, hand):
    before = first_days(film, studio)
    first = pin_shot(shots[3], FIRST, hand)
    between = first_days(film, studio)
    second = pin_setup(film, shots[0].setup, THIRD, hand)
    with pytest.raises(NotPossible, match="Only the last change"):
        undo_step(first, hand)
    undo_step(second, hand)
    assert first_days(film, studio) == between
    undo_step(first, hand)
    assert first_days(film, studio) == before
    assert page_of(film, studio).steps == ()


def test_the_plan_is_compared_with_any_earlier_one(film, shots, studio, hand):
    first = pin_shot(shots[3], FIRST, hand)
    pin_shot(shots[3], FIRST, hand)  # the same again moves nothing
    assert page_of(film, studio).moved == ()
    page = page_of(film, studio, since=first.pk)
    assert "040" in {one.code for one in page.moved}


# Wishes


def test_what_comes_before_what_is_respected(film, shots, studio, hand):
    keep_wishes(shots[0], 0, NO_WISHES | {"after": [shots[3]]}, False, hand)
    days = first_days(film, studio)
    assert days["040"] <= days["010"]


def test_shots_in_a_circle_are_refused(film, shots, hand):
    keep_wishes(shots[0], 0, NO_WISHES | {"after": [shots[1]]}, False, hand)
    with pytest.raises(NotPossible, match=r"circle: .*0[12]0 after 0[12]0"):
        keep_wishes(shots[1], 0, NO_WISHES | {"after": [shots[0]]}, False, hand)


def test_a_circle_that_is_there_all_the_same_is_named_on_the_page(film, shots, studio):
    for shot, other in ((0, 1), (1, 0)):
        Wish.objects.create(shot=shots[shot]).after.add(shots[other])
    page = page_of(film, studio)
    assert "010 after 020, 020 after 010" in page.circle
    assert page.days == ()


def test_wishes_may_hold_for_the_whole_set_up(film, shots, hand, crew):
    fields = NO_WISHES | {"earliest": THIRD, "people": [crew], "pinned": THIRD}
    keep_wishes(shots[0], 0, fields, True, hand)
    other = Wish.objects.get(shot=shots[2])
    assert (other.earliest, other.pinned) == (THIRD, None)
    assert list(other.people.all()) == [crew]
    assert not Wish.objects.filter(shot=shots[1]).exists()


def test_two_people_wishing_at_once_are_told(film, shots, hand):
    keep_wishes(shots[0], 0, NO_WISHES, False, hand)
    with pytest.raises(EditedMeanwhile):
        keep_wishes(shots[0], 0, NO_WISHES | {"priority": 3}, False, hand)


def test_a_shot_waits_for_whom_it_cannot_do_without(film, shots, studio, hand, crew, owner):
    keep_wishes(shots[0], 0, NO_WISHES | {"people": [crew]}, False, hand)
    add_absence({"person": crew, "first": FIRST, "last": SECOND})
    assert first_days(film, studio)["010"] >= THIRD
    assert page_of(film, studio).days[0].away == ("Teo Lind",)


def test_part_time_is_away_on_its_weekdays_only(film, shots, studio, crew, owner):
    add_absence({"person": crew, "first": FIRST, "last": None, "weekdays": [1]})  # Tuesdays
    days = {day.planned.date: day.away for day in page_of(film, studio).days}
    assert (days[FIRST], days[SECOND], days[THIRD]) == ((), ("Teo Lind",), ())


def test_a_day_everybody_is_away_is_not_worked(film, shots, studio, owner):
    add_absence({"person": owner, "first": FIRST, "last": FIRST})
    assert page_of(film, studio).days[0].planned.date == SECOND


def test_a_day_is_as_long_as_the_longest_anybody_is_there(film, shots, studio, owner, crew):
    add_absence({"person": owner, "first": FIRST, "last": FIRST, "hours": Decimal("3.5")})
    add_absence({"person": crew, "first": FIRST, "last": FIRST, "hours": Decimal("2")})
    add_absence({"person": crew, "first": SECOND, "last": SECOND, "hours": Decimal("2")})
    first, second, *_ = page_of(film, studio).days
    assert (first.planned.hours, second.planned.hours) == (3.5, 7.0)
    assert first.short_words == "Ida Morrow 3.5 h, Teo Lind 2 h"
    assert first.short == (("Ida Morrow", 3.5), ("Teo Lind", 2.0))
    assert (second.short, second.away) == ((("Teo Lind", 2.0),), ())


def test_who_is_there_for_half_a_day_is_counted_from_its_start(film, shots, studio, hand, crew):
    """Each shot takes a good 4 h: the one Teo is needed for fits none of his half days."""
    keep_wishes(shots[0], 0, NO_WISHES | {"people": [crew]}, False, hand)
    add_absence({"person": crew, "first": FIRST, "last": None, "hours": Decimal("3.5")})
    plan = standing(film, studio, TODAY).made()
    parts = [work.hours for day in plan.days for work in day.work if work.shot == "010"]
    assert (len(parts), max(parts) <= 3.5) == (2, True)
    assert any("longer than a day of Teo Lind" in note for note in plan.notes)


def test_hours_of_a_short_day_the_studio_does_not_have_are_a_whole_day(
    film, shots, studio, crew, owner
):
    add_absence({"person": crew, "first": FIRST, "last": FIRST, "hours": Decimal("6")})
    studio.hours_per_day = 5
    assert page_of(film, studio).days[0].short == ()


def test_of_two_rows_for_one_day_the_fewer_hours_hold(film, shots, studio, crew, owner):
    add_absence({"person": crew, "first": FIRST, "last": SECOND, "hours": Decimal("4")})
    add_absence({"person": crew, "first": SECOND, "last": SECOND})
    first, second, *_ = page_of(film, studio).days
    assert (first.short, second.away) == ((("Teo Lind", 4.0),), ("Teo Lind",))


def test_half_days_give_as_many_days_as_the_work_needs(film, shots, studio, owner, crew):
    for person in (owner, crew):
        add_absence({"person": person, "first": FIRST, "last": None, "hours": Decimal("1.25")})
    assert not standing(film, studio, TODAY).made().left_out


# The pages


def address(name: str, *args) -> str:
    return reverse(f"shots:{name}", args=["FOX", *args])


def tomorrow() -> date:
    """The next working day of the studio after today."""
    day = factories.studio_today() + timedelta(days=1)
    while day.weekday() > 4:
        day += timedelta(days=1)
    return day


@pytest.fixture
def now_film(film):
    film.start, film.deadline = None, None
    film.save()
    return film


def test_a_drop_answers_with_the_new_plan(crew_client, now_film, shots):
    day = tomorrow()
    answer = crew_client.post(
        address("plan"), {"to": f"shot:{shots[3].pk}:{day}"}, headers={"HX-Request": "true"}
    )
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "<html" not in page
    assert "040 was pinned to" in page
    assert Wish.objects.get(shot=shots[3]).pinned == day


def test_buttons_work_without_javascript(owner_client, now_film, shots):
    answer = owner_client.post(address("plan"), {"to": f"setup:{shots[1].setup_id}:{tomorrow()}"})
    assert answer.url == address("plan")
    step = PlanStep.objects.get()
    assert f"Set-up {shots[1].setup.code} was pinned" in step.act
    page = owner_client.post(address("plan_undo", step.pk), follow=True).content.decode()
    assert "Taken back" in page
    owner_client.post(address("plan"), {"to": f"shot:{shots[0].pk}:{tomorrow()}"})
    owner_client.post(address("plan"), {"to": f"shot:{shots[0].pk}:"})
    assert Wish.objects.get(shot=shots[0]).pinned is None


@pytest.mark.parametrize(
    "to", ["", "shot", "shot::2026-03-04", "shot:x:2026-03-04", "shot:1:never", "day:1:2026-03-04"]
)
def test_nonsense_is_refused_in_words(owner_client, film, shots, to):
    answer = owner_client.post(address("plan"), {"to": to})
    assert answer.status_code == 422
    assert 'role="alert"' in answer.content.decode()


def test_another_productions_shot_cannot_be_moved(owner_client, film):
    other = factories.ShotFactory()
    answer = owner_client.post(address("plan"), {"to": f"shot:{other.pk}:{tomorrow()}"})
    assert answer.status_code == 404


def test_wishes_are_kept_and_refused_at_their_field(owner_client, now_film, shots):
    to = address("plan_shot", shots[0].pk)
    dates = {"earliest": "2030-03-05", "latest": "2030-03-04", "read_version": 0}
    answer = owner_client.post(to, dates)
    assert answer.status_code == 422
    assert "Swap them, or clear one." in answer.content.decode()
    answer = owner_client.post(to, {"priority": "100", "read_version": 0})
    assert "A priority goes from 0 to 99." in answer.content.decode()
    answer = owner_client.post(to, {"priority": "2", "after": [shots[1].pk], "read_version": 0})
    assert answer.status_code == 302
    assert Wish.objects.get(shot=shots[0]).priority == 2
    answer = owner_client.post(to, {"priority": "5", "read_version": 0})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "Somebody saved this while you were typing" in page
    back = address("plan_shot", shots[1].pk)
    answer = owner_client.post(back, {"after": [shots[0].pk], "read_version": 0})
    assert answer.status_code == 422
    assert "in a circle" in answer.content.decode()


def test_absences_are_added_and_removed(crew_client, film, crew):
    to = address("plan_people")
    answer = crew_client.post(to, {"person": crew.pk, "first": "2026-03-05", "last": "2026-03-04"})
    assert answer.status_code == 422
    assert "The last day is before the first." in answer.content.decode()
    crew_client.post(to, {"person": crew.pk, "first": "2026-03-05", "weekdays": [4]})
    absence = crew.absences.get()
    assert (absence.last, absence.weekdays) == (None, [4])
    assert "every Friday, away" in crew_client.get(to).content.decode()
    crew_client.post(address("absence_remove", absence.pk))
    assert not crew.absences.exists()


@pytest.mark.parametrize("hours", ["0", "-1", "7", "25"])
def test_a_short_day_is_shorter_than_a_day(crew_client, film, crew, hours):
    row = {"person": crew.pk, "first": "2026-03-05", "hours": hours}
    answer = crew_client.post(address("plan_people"), row)
    assert answer.status_code == 422
    assert (
        f"A short day has more than 0 and fewer than 7 hours, got {hours}."
        in answer.content.decode()
    )
    assert not crew.absences.exists()


def test_half_days_are_written_down_and_said(crew_client, film, crew):
    to = address("plan_people")
    assert "half of an ordinary day is 3.5" in crew_client.get(to).content.decode()
    crew_client.post(to, {"person": crew.pk, "first": "2026-03-05", "hours": "3.5"})
    assert "until further notice, there for 3.5 h of the day" in (
        crew_client.get(to).content.decode()
    )


def test_the_plan_asks_as_often_for_many_shots_as_for_few(film, shots, studio, hand, owner, crew):
    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            page_of(film, studio)
        return len(queries)

    keep_wishes(shots[0], 0, NO_WISHES | {"after": [shots[1]], "people": [crew]}, False, hand)
    add_absence({"person": crew, "first": FIRST, "last": FIRST})
    few = asked()
    for n in range(30):
        setup = factories.SetupFactory(production=film)
        shot = factories.ShotFactory(production=film, setup=setup, code=f"Z{n:02}")
        keep_wishes(shot, 0, NO_WISHES | {"after": [shots[1]], "people": [crew]}, False, hand)
        add_absence({"person": crew, "first": SECOND, "last": SECOND})
    assert asked() == few
