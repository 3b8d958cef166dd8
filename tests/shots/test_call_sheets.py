"""Call sheets are made, changed, refused in words, put aside and printed."""

from datetime import UTC, date, datetime, time, timedelta
from io import BytesIO

import pytest
from django.db import connection
from django.template.loader import render_to_string
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from shots.models import CallSheet, CallSheetPerson, CallSheetShot, Lamp, Shot
from shots.queries import call_sheet as queries
from shots.queries import call_sheet_proposal as proposals
from shots.queries.film import running_films
from shots.services.call_sheets import change_call_sheet, make_call_sheet, restore_call_sheet
from studio.errors import EditedMeanwhile, NotPossible
from studio.services import archive
from tests import factories

MONDAY, TUESDAY = date(2026, 3, 2), date(2026, 3, 3)
FIELDS = {"day": TUESDAY, "call": time(9), "wrap": time(17), "notes": ""}


@pytest.fixture
def film(studio):
    return factories.ProductionFactory(code="FOX", emergency_care="Walk-in clinic")


@pytest.fixture
def shots(film):
    """Two set-ups with two shots of 24 pictures each, in film order K1, S1, K1, S1."""
    setups = [factories.SetupFactory(production=film, code=code) for code in ("K1", "S1")]
    return [
        factories.ShotFactory(production=film, setup=setups[n % 2], code=f"0{n + 1}0", position=n)
        for n in range(4)
    ]


def a_session(film, shot, start: datetime, hours: float, kept: int):
    session = factories.SessionFactory(
        production=film,
        setup=shot.setup,
        day=start.date(),
        started_at=start,
        ended_at=start + timedelta(hours=hours),
    )
    factories.SessionShotFactory(session=session, shot=shot, kept=kept)
    return session


# Defaults


def test_a_new_sheet_is_for_the_next_working_day_without_one(studio, film):
    friday = date(2026, 3, 6)
    assert proposals.next_day(film, studio, friday) == date(2026, 3, 9)
    factories.CallSheetFactory(production=film, day=date(2026, 3, 9))
    assert proposals.next_day(film, studio, friday) == date(2026, 3, 10)


def test_the_first_sheet_calls_everybody_for_the_studios_day(studio, film, shots, owner, crew):
    crew.is_active = False
    crew.save()
    draft = proposals.proposal(film, studio, MONDAY, TUESDAY)
    # Seven hours with ten minutes of each hour for breaks: 8.4 h, to the next half hour.
    assert (draft.call, draft.wrap) == (time(9), time(17, 30))
    assert draft.calls == {owner.pk: time(9)}


def test_times_and_people_come_from_the_last_sheet(studio, film, owner, crew):
    last = factories.CallSheetFactory(production=film, call=time(10), wrap=time(19))
    CallSheetPerson.objects.create(call_sheet=last, person=crew, call=time(9, 30))
    draft = proposals.proposal(film, studio, TUESDAY, date(2026, 3, 4))
    assert (draft.call, draft.wrap, draft.calls) == (time(10), time(19), {crew.pk: time(9, 30)})


def test_shots_are_proposed_from_the_set_up_that_stands_those_begun_first(studio, film, shots):
    a_session(film, shots[3], datetime(2026, 3, 2, 8, tzinfo=UTC), 4, kept=10)
    draft = proposals.proposal(film, studio, TUESDAY, date(2026, 3, 4))
    order = list(draft.pictures)
    assert order[:2] == [shots[3].pk, shots[1].pk]
    assert draft.pictures[shots[3].pk] == 14  # 24 less the 10 kept


def test_done_cut_and_archived_shots_are_not_proposed(studio, film, shots):
    for shot, status in zip(shots, ("shot", "approved", "cut", "to retake"), strict=True):
        shot.status = status
        shot.save()
    assert [shot.code for shot in proposals.shots_to_choose(film)] == ["040"]


# Making and changing


def test_a_second_sheet_for_the_day_is_refused(film):
    make_call_sheet(film, FIELDS, {}, {})
    with pytest.raises(NotPossible, match="Tuesday 3 March 2026 has a call sheet already"):
        make_call_sheet(film, FIELDS, {}, {})
    make_call_sheet(factories.ProductionFactory(), FIELDS, {}, {})  # another film may


def test_an_archived_sheet_frees_its_day_until_another_takes_it(film):
    first = make_call_sheet(film, FIELDS, {}, {})
    archive(first, timezone.now())
    second = make_call_sheet(film, FIELDS, {}, {})
    with pytest.raises(NotPossible):
        restore_call_sheet(first)
    archive(second, timezone.now())
    restore_call_sheet(first)
    assert CallSheet.objects.current().get() == first


def test_shots_keep_their_order_and_a_change_of_shots_alone_raises_the_version(film, shots, owner):
    sheet = make_call_sheet(film, FIELDS, {shots[2].pk: 5, shots[0].pk: 7}, {owner.pk: time(8)})
    assert proposals.pictures_of(sheet) == {shots[2].pk: 5, shots[0].pk: 7}
    change_call_sheet(sheet, 1, FIELDS, {shots[0].pk: 7, shots[2].pk: 5}, {owner.pk: time(8)})
    sheet.refresh_from_db()
    assert list(proposals.pictures_of(sheet)) == [shots[0].pk, shots[2].pk]
    assert sheet.version == 2
    change_call_sheet(sheet, 2, FIELDS, proposals.pictures_of(sheet), {owner.pk: time(8)})
    sheet.refresh_from_db()
    assert sheet.version == 2  # nothing changed
    with pytest.raises(EditedMeanwhile):
        change_call_sheet(sheet, 1, FIELDS, {}, {})
    assert sheet.shots.count() == 2


# The form


def new(film):
    return reverse("shots:call_sheet_new", args=[film.code])


def posted(day: date, **fields) -> dict:
    return {
        "read_version": 0, "day": day.isoformat(), "call": "09:00", "wrap": "17:00", "notes": "",
        **fields,
    }  # fmt: skip


def test_the_owner_makes_a_sheet(owner_client, film, shots, owner, crew):
    day = factories.studio_today() + timedelta(days=1)
    answer = owner_client.post(
        new(film),
        posted(
            day,
            **{
                f"pictures_{shots[0].pk}": "12",
                f"pictures_{shots[2].pk}": "6",
                f"order_{shots[2].pk}": "1",
                f"call_{crew.pk}": "08:30",
            },
        ),
    )
    sheet = CallSheet.objects.get()
    assert answer.url == reverse("shots:call_sheet", args=["FOX", sheet.pk])
    # A shot without a place in the order comes last.
    assert list(proposals.pictures_of(sheet).items()) == [(shots[2].pk, 6), (shots[0].pk, 12)]
    assert proposals.calls_of(sheet) == {crew.pk: time(8, 30)}


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"wrap": "09:00"}, "The wrap is the call, 09:00."),
        ({"call": "25:00"}, "Enter a valid time."),
        ({"day": "1998-03-02"}, "1998-03-02 is more than a month ago."),
        ({"day": "9998-03-02"}, "more than a year ahead"),
        ({"day": "0001-01-01"}, "more than a month ago"),
        ({"day": "never"}, "Enter a valid date."),
        ({"pictures": "0"}, "At least 1; leave it empty"),
        ({"pictures": "-3"}, "At least 1; leave it empty"),
        ({"pictures": "5001"}, "At most 5000."),
        ({"pictures": "9" * 40}, "At most 5000."),
        ({"pictures": "many"}, "A whole number, as 18."),
        ({"pictures": "3", "order": "0"}, "At least 1"),
        ({"person": "17:00"}, "when the day has wrapped"),
    ],
)
def test_bad_entries_are_refused_in_words(owner_client, film, shots, owner, fields, sentence):
    named = {
        "pictures": f"pictures_{shots[0].pk}",
        "order": f"order_{shots[0].pk}",
        "person": f"call_{owner.pk}",
    }
    tomorrow = factories.studio_today() + timedelta(days=1)
    typed = {named.get(name, name): value for name, value in fields.items()}
    answer = owner_client.post(new(film), posted(tomorrow) | typed)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert sentence in page
    for value in typed.values():
        assert value in page  # what was typed is still there
    assert not CallSheet.objects.exists()


def test_a_second_sheet_is_refused_at_the_day(owner_client, film):
    day = factories.studio_today()
    factories.CallSheetFactory(production=film, day=day)
    answer = owner_client.post(new(film), posted(day))
    assert answer.status_code == 422
    assert "has a call sheet already" in answer.content.decode()


def test_a_sheet_without_shots_is_allowed_and_says_so(owner_client, film):
    answer = owner_client.post(new(film), posted(factories.studio_today()), follow=True)
    assert "No shots are chosen: the sheet says so." in answer.content.decode()


@pytest.mark.parametrize("day", ["9999-12-31", "0001-01-01", "never", ""])
def test_a_day_asked_for_in_the_address_never_breaks_the_form(owner_client, film, shots, day):
    factories.CallSheetFactory(production=film, call=time(20), wrap=time(4))
    assert owner_client.get(new(film), {"day": day}).status_code == 200


def test_an_old_sheet_can_still_be_corrected(owner_client, film):
    sheet = factories.CallSheetFactory(production=film, day=date(2020, 3, 2))
    address = reverse("shots:call_sheet_edit", args=["FOX", sheet.pk])
    answer = owner_client.post(
        address, posted(sheet.day, read_version=sheet.version, notes="Two hours lost")
    )
    assert answer.status_code == 302
    sheet.refresh_from_db()
    assert sheet.notes == "Two hours lost"


def test_a_shot_finished_while_the_form_was_open_is_not_lost(owner_client, film, shots):
    shots[0].status = Shot.Status.SHOT
    shots[0].save()
    owner_client.post(
        new(film), posted(factories.studio_today(), **{f"pictures_{shots[0].pk}": "4"})
    )
    assert proposals.pictures_of(CallSheet.objects.get()) == {shots[0].pk: 4}


def test_two_people_at_once_see_both_versions(owner_client, crew_client, film, shots, crew):
    sheet = make_call_sheet(film, FIELDS | {"day": factories.studio_today()}, {shots[0].pk: 5}, {})
    address = reverse("shots:call_sheet_edit", args=["FOX", sheet.pk])
    first = posted(sheet.day, read_version=1, **{f"call_{crew.pk}": "08:00"})
    assert owner_client.post(address, first).status_code == 302
    second = posted(sheet.day, read_version=1, wrap="18:00", **{f"pictures_{shots[0].pk}": "9"})
    answer = crew_client.post(address, second)
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "Somebody saved this while you were typing" in page
    for words in (">17:00</td>", ">18:00</td>", ">08:00</td>", "Shot 010, pictures to take"):
        assert words in page
    assert crew_client.post(address, second | {"read_version": 2}).status_code == 302
    sheet.refresh_from_db()
    assert (sheet.wrap, proposals.pictures_of(sheet)) == (time(18), {shots[0].pk: 9})


# The page, its warnings and the PDF


# Directive 2003/88/EC, article 3: wrap 22:00 allows a call at 09:00, 23:30 one at 10:30.
@pytest.mark.parametrize(
    ("wrap", "call", "warned"),
    [
        (time(22), time(9), None),
        (time(22), time(8, 59), "The earliest call that gives them is 09:00."),
        (time(23, 30), time(10), "The earliest call that gives them is 10:30."),
        (time(1), time(10), "The earliest call that gives them is 12:00."),
    ],
)
def test_a_short_night_is_warned_of_not_refused(studio, film, wrap, call, warned):
    factories.CallSheetFactory(production=film, day=MONDAY, call=time(14), wrap=wrap)
    sheet = factories.CallSheetFactory(production=film, day=TUESDAY, call=call, wrap=time(20))
    page = queries.call_sheet(sheet, studio, MONDAY)
    said = [warning for warning in page.warnings if "11 hours" in warning]
    assert bool(said) == bool(warned)
    if warned:
        assert warned in said[0]
        assert any(warned in text for _, text in page.plan.cautions)


def test_rest_counts_from_the_later_of_plan_and_session_to_the_first_person(
    studio, film, shots, crew
):
    factories.CallSheetFactory(production=film, day=MONDAY, wrap=time(17))
    # 21:00 to 22:30 in Warsaw, an hour ahead of UTC.
    a_session(film, shots[0], datetime(2026, 3, 2, 20, tzinfo=UTC), 1.5, kept=3)
    sheet = factories.CallSheetFactory(production=film, day=TUESDAY, call=time(10))
    CallSheetPerson.objects.create(call_sheet=sheet, person=crew, call=time(8, 30))
    rest = queries.rest_before(sheet, [time(8, 30)], studio)
    assert rest.length == timedelta(hours=10)
    assert f"{rest.earliest:%H:%M}" == "09:30"


def test_the_first_sheet_of_all_has_no_night_to_warn_of(studio, film):
    assert queries.rest_before(factories.CallSheetFactory(production=film), [], studio) is None


def test_the_plan_tells_the_day_and_its_shots(studio, film, shots, owner):
    Lamp.objects.create(setup=shots[0].setup, name="Key", watts=3000)
    shots[0].setup.iso, shots[0].setup.focus_distance = 100, "62 cm"
    shots[0].setup.save()
    for day in (2, 4):
        a_session(film, shots[0], datetime(2026, 3, day, 8, tzinfo=UTC), 4, kept=6)
    sheet = make_call_sheet(
        film,
        FIELDS | {"day": date(2026, 3, 5)},
        {shots[0].pk: 12, shots[2].pk: 20, shots[1].pk: 30},
        {owner.pk: time(9)},
    )
    page = queries.call_sheet(sheet, studio, date(2026, 3, 4))
    plan = page.plan
    assert (plan.date, plan.week) == ("Thursday 5 March 2026", "2026-W10")  # ISO 8601 week
    assert plan.number.startswith("Day 3 of about ")
    assert [(block.code, len(block.shots)) for block in plan.setups] == [("K1", 2), ("S1", 1)]
    assert plan.setups[0].shots[0].length == "2 s 00 f"
    assert plan.setups[0].locked == "ISO 100 · focus 62 cm"
    # 80 % of 16 A at 230 V (NFPA 70 210.19, 210.20 for loads of three hours or longer).
    assert "2944 W" in plan.setups[0].load
    assert any("Set-up K1: over 80 % of the circuit" in warning for warning in page.warnings)
    assert "Shot 020: 30 pictures to take, 24 left in its budget." in page.warnings
    assert plan.strip.total_frames == 192


def test_slips_in_the_day_are_pointed_out(studio, film, shots):
    sheet = make_call_sheet(
        film,
        FIELDS | {"day": date(2026, 5, 3)},
        {shots[0].pk: 2, shots[1].pk: 2, shots[2].pk: 2},
        {},
    )
    said = " ".join(queries.call_sheet(sheet, studio, TUESDAY).warnings)
    assert "Sunday 3 May 2026 is not a working day" in said
    assert "after the shooting deadline, Thursday 30 April 2026" in said
    assert "left and built again" in said
    assert "Nobody is called yet." in said


@pytest.mark.parametrize(("paper", "height"), [("A4", 841.89), ("Letter", 792.0)])
def test_crew_open_the_pdf_on_the_studios_paper(crew_client, studio, film, shots, paper, height):
    studio.paper = paper
    studio.save()
    sheet = make_call_sheet(film, FIELDS, {shots[0].pk: 12}, {})
    answer = crew_client.get(reverse("shots:call_sheet_pdf", args=["FOX", sheet.pk]))
    assert answer.headers["Content-Type"] == "application/pdf"
    assert "FOX_call-sheet_2026-03-03.pdf" in answer.headers["Content-Disposition"]
    (page,) = PdfReader(BytesIO(answer.content)).pages
    assert float(page.mediabox.height) == pytest.approx(height, abs=0.1)
    assert "The Felt Fox" in page.extract_text()


def test_archiving_is_undone_from_the_page(owner_client, film):
    sheet = factories.CallSheetFactory(production=film)
    done = owner_client.post(
        reverse("shots:call_sheet_archive", args=["FOX", sheet.pk]), follow=True
    )
    assert "Bring it back" in done.content.decode()
    back = reverse("shots:call_sheet_restore", args=["FOX", sheet.pk])
    assert "is back." in owner_client.post(back, follow=True).content.decode()
    sheet.refresh_from_db()
    assert sheet.archived_at is None


def test_another_productions_sheet_is_not_found(owner_client, film):
    other = factories.CallSheetFactory()
    address = reverse("shots:call_sheet", args=["FOX", other.pk])
    assert owner_client.get(address).status_code == 404


def test_todays_call_stands_on_todays_page(studio, film, shots, crew):
    sheet = factories.CallSheetFactory(production=film, day=TUESDAY)
    CallSheetPerson.objects.create(call_sheet=sheet, person=crew, call=time(8, 30))
    CallSheetShot.objects.create(call_sheet=sheet, shot=shots[0], pictures=12)
    (running,) = running_films(studio, TUESDAY, [])
    part = " ".join(render_to_string("shots/_call.html", {"film": running}).split())
    assert "Today’s call 09:00, wrap 17:00." in part
    assert "Teo Lind 08:30." in part
    assert "Pictures to take: 010 × 12." in part
    (tomorrow,) = running_films(studio, date(2026, 3, 4), [])
    assert not render_to_string("shots/_call.html", {"film": tomorrow}).strip()


def filled(film, shots, count: int) -> None:
    for n in range(count):
        day = TUESDAY + timedelta(days=n)
        sheet = factories.CallSheetFactory(production=film, day=day)
        person = factories.PersonFactory()
        CallSheetPerson.objects.create(call_sheet=sheet, person=person, call=time(9))
        CallSheetShot.objects.create(call_sheet=sheet, shot=shots[n % 4], pictures=3)


def test_the_paperwork_tab_asks_as_often_for_many_sheets_as_for_one(studio, film, shots):
    filled(film, shots, 1)
    with CaptureQueriesContext(connection) as one:
        queries.paperwork(film, studio, MONDAY)
    CallSheet.objects.all().delete()
    filled(film, shots, 40)
    with CaptureQueriesContext(connection) as many:
        page = queries.paperwork(film, studio, MONDAY)
    assert len(page.sheets) == 40
    assert (page.sheets[0].called, page.sheets[0].planned, page.sheets[0].pictures) == (1, 1, 3)
    assert len(many) == len(one)


def test_a_sheet_asks_as_often_for_sixty_shots_as_for_one(studio, film, shots, owner):
    little = make_call_sheet(film, FIELDS, {shots[0].pk: 3}, {owner.pk: time(9)})
    more = [factories.ShotFactory(production=film, setup=shots[n % 2].setup) for n in range(60)]
    people = [factories.PersonFactory() for _ in range(20)]
    much = make_call_sheet(
        film,
        FIELDS | {"day": date(2026, 3, 4)},
        {shot.pk: 3 for shot in more},
        {person.pk: time(9) for person in people},
    )
    Lamp.objects.create(setup=shots[0].setup, name="Key", watts=300)
    Lamp.objects.create(setup=shots[1].setup, name="Fill", watts=150)
    counts = []
    for pk in (little.pk, much.pk):
        sheet = CallSheet.objects.select_related("production").get(pk=pk)
        with CaptureQueriesContext(connection) as asked:
            queries.call_sheet(sheet, studio, MONDAY)
        counts.append(len(asked))
    assert counts[0] == counts[1]
