"""Call sheets are made from the plan, issued, revised, kept as they were, and sent."""

from dataclasses import replace
from datetime import date, time
from decimal import Decimal
from io import BytesIO

import pytest
from django.core import mail
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from shots.models import CallSheet, CallSheetIssue, CallSheetPerson
from shots.queries.call_sheet import call_sheet
from shots.queries.call_sheet_proposal import calls_of, pictures_of
from shots.services.call_sheet_issues import (
    call_sheet_from_plan,
    issue_call_sheet,
    send_call_sheet,
)
from shots.services.call_sheets import change_call_sheet
from shots.services.plan import Hand, add_absence, pin_shot
from shots.trade.call_sheet_changes import SheetContents, changes
from studio.errors import NotPossible
from studio.services import archive
from tests import factories

FIRST, SECOND = date(2026, 3, 2), date(2026, 3, 3)


@pytest.fixture
def film(studio):
    return factories.ProductionFactory(code="FOX", emergency_care="Walk-in clinic")


@pytest.fixture
def shots(film):
    setup = factories.SetupFactory(production=film, code="K1")
    return [
        factories.ShotFactory(production=film, setup=setup, code=f"0{n + 1}0", position=n)
        for n in range(6)
    ]


@pytest.fixture
def hand(studio, owner):
    now = timezone.make_aware(timezone.datetime(2026, 3, 2, 8), studio.zone)
    return Hand(studio, owner, now)


@pytest.fixture
def sheet(film, shots, hand, crew):
    return call_sheet_from_plan(film, SECOND, hand)


def change(sheet: CallSheet, **fields) -> CallSheet:
    sheet = CallSheet.objects.get(pk=sheet.pk)
    stands = {name: getattr(sheet, name) for name in ("day", "call", "wrap", "notes")}
    return change_call_sheet(
        sheet, sheet.version, stands | fields, pictures_of(sheet), calls_of(sheet)
    )


# From the plan


def test_the_sheet_holds_what_the_plan_shoots_that_day(film, shots, hand, owner, crew):
    # A shot takes a good 2 h; 1.5 h of building leave the first day under 5.5 h.
    sheet = call_sheet_from_plan(film, SECOND, hand)
    codes = [row.shot.code for row in sheet.shots.all()]
    assert codes == ["030", "040", "050", "060"]
    assert sheet.shots.first().pictures < 24  # begun the day before
    assert set(calls_of(sheet)) == {owner.pk, crew.pk}


def test_nobody_who_is_away_is_called(film, shots, hand, owner, crew):
    add_absence({"person": crew, "first": SECOND, "last": SECOND})
    assert set(calls_of(call_sheet_from_plan(film, SECOND, hand))) == {owner.pk}


def test_a_short_day_wraps_early(film, shots, hand, owner, crew):
    for person, hours in ((owner, Decimal(3)), (crew, Decimal(2))):
        add_absence({"person": person, "first": SECOND, "last": SECOND, "hours": hours})
    sheet = call_sheet_from_plan(film, SECOND, hand)
    # 3 h at the set, ten minutes of every hour left for breaks: 3.6 h, to the next half hour.
    assert (sheet.call, sheet.wrap) == (time(9), time(13))


def test_a_sheet_there_is_keeps_its_times_and_takes_the_new_shots(film, shots, hand, sheet):
    change(sheet, call=time(10), notes="Bring the second tail")
    pin_shot(shots[5], SECOND, hand)
    again = call_sheet_from_plan(film, SECOND, hand)
    assert (again.pk, again.call, again.notes) == (sheet.pk, time(10), "Bring the second tail")
    # First what was begun the day before, then the pinned one.
    assert list(pictures_of(again))[:2] == [shots[2].pk, shots[5].pk]
    assert CallSheet.objects.count() == 1


@pytest.mark.parametrize("day", [date(2026, 3, 7), date(2026, 4, 20), date(2020, 1, 1)])
def test_a_day_without_planned_shots_makes_no_sheet(film, shots, hand, day):
    with pytest.raises(NotPossible, match="The plan shoots nothing on"):
        call_sheet_from_plan(film, day, hand)
    assert not CallSheet.objects.exists()


# Issuing and revising


def test_sheets_are_numbered_and_revisions_lettered(film, shots, hand, sheet):
    first = issue_call_sheet(sheet, hand)
    assert (first.number, first.letter, first.changes) == (1, "A", [])
    change(sheet, call=time(8, 30))
    second = issue_call_sheet(sheet, hand)
    assert (second.number, second.letter) == (1, "B")
    assert second.changes == ["The call moves from 09:00 to 08:30."]
    other = issue_call_sheet(call_sheet_from_plan(film, FIRST, hand), hand)
    assert (other.number, other.letter) == (2, "A")


def test_what_was_issued_stays_as_it_was(shots, hand, sheet, studio):
    first = issue_call_sheet(sheet, hand)
    text = PdfReader(BytesIO(bytes(first.pdf))).pages[0].extract_text()
    assert "No. 1, revision A" in text
    change(sheet, call=time(7, 15), notes="Fog machine at noon")
    second = issue_call_sheet(sheet, hand)
    kept = CallSheetIssue.objects.get(pk=first.pk)
    assert bytes(kept.pdf) == bytes(first.pdf)
    assert "Call 09:00" in PdfReader(BytesIO(bytes(kept.pdf))).pages[0].extract_text()
    text = PdfReader(BytesIO(bytes(second.pdf))).pages[0].extract_text()
    assert "revision B" in text
    assert "The call moves from 09:00 to 07:15." in text


def test_an_unchanged_or_archived_sheet_is_not_issued_again(hand, sheet):
    issue_call_sheet(sheet, hand)
    with pytest.raises(NotPossible, match="Nothing changed since revision A"):
        issue_call_sheet(sheet, hand)
    archive(sheet, hand.now)
    with pytest.raises(NotPossible, match="archived"):
        issue_call_sheet(sheet, hand)
    assert CallSheetIssue.objects.count() == 1


@pytest.mark.parametrize(
    ("revision", "letter"), [(1, "A"), (2, "B"), (26, "Z"), (27, "AA"), (53, "BA")]
)
def test_letters_go_on_after_z(revision, letter):
    assert CallSheetIssue(revision=revision).letter == letter


BEFORE = SheetContents(
    "Monday", "09:00", "17:00", {"Ida": "09:00", "Teo": "08:30"}, {"010": 12, "020": 8}, "Shed 4"
)


@pytest.mark.parametrize(
    ("after", "said"),
    [
        ({}, ()),
        ({"day": "Tuesday"}, ("The day moves from Monday to Tuesday.",)),
        ({"wrap": "18:00"}, ("The wrap moves from 17:00 to 18:00.",)),
        (
            {"people": {"Ida": "10:00", "Mo": "09:00"}},
            (
                "Ida is called at 10:00, not at 09:00.",
                "Mo is called too, at 09:00.",
                "Teo is no longer called.",
            ),
        ),
        (
            {"shots": {"020": 8, "010": 10, "030": 4}},
            (
                "Shot 030 is added: 4 pictures.",
                "Shot 010: 10 pictures instead of 12.",
                "The shots come in another order.",
            ),
        ),
        ({"shots": {"010": 12}}, ("Shot 020 is off the day.",)),
        ({"place": "Shed 5"}, ("The place of shooting changed.",)),
        ({"place": "", "notes": "Fog"}, ("The place of shooting left the sheet.",
                                         "The notes changed.")),
    ],
)  # fmt: skip
def test_changes_are_told_in_sentences(after, said):
    assert changes(BEFORE, replace(BEFORE, **after)) == said


def test_the_order_of_shots_survives_storage(hand, sheet):
    issue = issue_call_sheet(sheet, hand)
    issue.refresh_from_db()
    kept = SheetContents.read(issue.contents)
    assert list(kept.shots) == [row.shot.code for row in sheet.shots.all()]


# Sending


def test_a_revision_is_mailed_to_each_alone(settings, hand, sheet, owner, crew):
    owner.email = "ida@example.org"
    owner.save()
    issue = issue_call_sheet(sheet, hand)
    assert send_call_sheet(issue) == [owner]
    (sent,) = mail.outbox
    assert sent.to == ["ida@example.org"]
    assert sent.subject == "Call sheet FOX, Tuesday 3 March 2026, A"
    name, content, kind = sent.attachments[0]
    assert (name, kind) == ("FOX_call-sheet_1A_2026-03-03.pdf", "application/pdf")
    assert content.startswith(b"%PDF")


def test_without_addresses_the_sheet_is_downloaded(hand, sheet):
    issue = issue_call_sheet(sheet, hand)
    with pytest.raises(NotPossible, match="Download the PDF instead"):
        send_call_sheet(issue)


def test_a_mail_server_that_refuses_is_told(monkeypatch, hand, sheet, owner):
    owner.email = "ida@example.org"
    owner.save()
    issue = issue_call_sheet(sheet, hand)

    def refuse(self, messages):
        raise ConnectionRefusedError("no route")

    monkeypatch.setattr("django.core.mail.backends.locmem.EmailBackend.send_messages", refuse)
    with pytest.raises(NotPossible, match="The mail server did not take it"):
        send_call_sheet(issue)


# The pages


def address(name: str, *args) -> str:
    return reverse(f"shots:{name}", args=["FOX", *args])


def test_a_day_of_the_plan_becomes_a_sheet_is_issued_and_revised(
    owner_client, crew_client, film, shots, settings, owner
):
    film.start = film.deadline = None
    film.save()
    plan = owner_client.get(address("plan"))
    day = plan.context["page"].days[0].planned.date
    answer = owner_client.post(address("call_sheet_from_plan"), {"day": day}, follow=True)
    sheet = CallSheet.objects.get()
    assert "Not handed out yet" in answer.content.decode()
    issued = owner_client.post(address("call_sheet_issue", sheet.pk), follow=True)
    assert "Issued as no. 1, revision A." in issued.content.decode()
    assert "Open the PDF of revision A" in issued.content.decode()
    assert "download the PDF and send it yourself" in issued.content.decode()
    change(sheet, notes="Fog machine")
    page = crew_client.get(address("call_sheet", sheet.pk)).content.decode()
    assert "Changed since revision A was handed out:" in page
    assert "Issue revision B" in page
    assert "Open the PDF of this draft" in page
    issue = CallSheetIssue.objects.get()
    pdf = crew_client.get(address("call_sheet_issue_pdf", sheet.pk, issue.pk))
    assert bytes(issue.pdf) == pdf.content
    settings.EMAIL_HOST = "mail.example.org"
    owner.email = "ida@example.org"
    owner.save()
    page = owner_client.get(address("call_sheet", sheet.pk)).content.decode()
    assert "Mail revision A to 1 person" in page
    sent = owner_client.post(address("call_sheet_send", sheet.pk, issue.pk), follow=True)
    assert "Sent to Ida Morrow." in sent.content.decode()


def test_today_leads_to_the_paper_that_was_handed_out(crew_client, film, studio, owner):
    film.start = film.deadline = None
    film.save()
    hand = Hand(studio, owner, timezone.now())
    sheet = factories.CallSheetFactory(production=film, day=hand.today)
    assert address("call_sheet_pdf", sheet.pk) in crew_client.get("/").content.decode()
    issue_call_sheet(sheet, hand)
    change(sheet, notes="Fog machine")
    issue = issue_call_sheet(sheet, hand)
    page = crew_client.get("/").content.decode()
    assert "PDF of revision B" in page
    assert address("call_sheet_issue_pdf", sheet.pk, issue.pk) in page


def test_a_sheet_says_who_on_it_is_away_or_leaves_early(film, sheet, studio, crew, owner):
    CallSheetPerson.objects.all().delete()
    for person in (owner, crew):
        CallSheetPerson.objects.create(call_sheet=sheet, person=person, call=sheet.call)
    day = {"first": sheet.day, "last": sheet.day}
    add_absence({"person": crew, **day})
    add_absence({"person": owner, **day, "hours": Decimal("3.50")})
    add_absence({"person": owner, **day, "weekdays": [6]})  # sheet.day is no Sunday
    warnings = call_sheet(sheet, studio, sheet.day).warnings
    assert "Teo Lind is away that day." in warnings
    assert "Ida Morrow is there for 3.5 h of that day." in warnings
    assert "Ida Morrow is away that day." not in warnings


def test_a_day_that_cannot_be_is_refused_on_the_plan(owner_client, film, shots):
    answer = owner_client.post(address("call_sheet_from_plan"), {"day": "never"}, follow=True)
    assert "Choose a day of the plan." in answer.content.decode()
    answer = owner_client.post(address("call_sheet_from_plan"), {"day": "2020-01-01"}, follow=True)
    assert "The plan shoots nothing on" in answer.content.decode()


def test_an_issue_of_another_sheet_is_not_found(owner_client, hand, sheet, film):
    issue = issue_call_sheet(sheet, hand)
    other = factories.CallSheetFactory(production=film, day=date(2026, 3, 9))
    answer = owner_client.get(address("call_sheet_issue_pdf", other.pk, issue.pk))
    assert answer.status_code == 404
