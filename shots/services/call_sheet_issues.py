"""Handing out call sheets: made from the plan, issued, revised, sent."""

from dataclasses import replace
from datetime import date

from django.core.mail import EmailMessage, get_connection
from django.db import transaction

from shots.documents.call_sheet import call_sheet as printed
from shots.models import CallSheet, CallSheetIssue, Production
from shots.queries.call_sheet import call_sheet as call_sheet_page
from shots.queries.call_sheet_issues import contents
from shots.queries.call_sheet_proposal import calls_of, proposal, wrap_after
from shots.queries.plan import pictures_on, standing
from shots.services.call_sheets import change_call_sheet, make_call_sheet
from shots.services.plan import Hand
from shots.trade.call import day_words
from shots.trade.call_sheet_changes import SheetContents, changes
from studio.errors import NotPossible
from studio.models import Person
from studio.queries import next_number


@transaction.atomic
def call_sheet_from_plan(production: Production, day: date, hand: Hand) -> CallSheet:
    """The call sheet of a day with what the plan shoots on it.

    A sheet that stands already keeps its times and people and gets the plan's shots. Nobody who
    is away is called, and a short day wraps early. Raises NotPossible where the plan shoots
    nothing on that day.
    """
    Production.objects.select_for_update().get(pk=production.pk)
    now = standing(production, hand.studio, hand.today)
    try:
        planned = {there.date: there for there in now.made().days}.get(day)
    except ValueError as error:
        raise NotPossible(str(error)) from error
    if planned is None or not planned.shots:
        raise NotPossible(f"The plan shoots nothing on {day_words(day)}. Choose another day.")
    pictures = {now.shots[code].pk: n for code, n in pictures_on(planned, now).items()}
    sheet = production.call_sheets.current().filter(day=day).first()
    if sheet:
        fields = {"day": day, "call": sheet.call, "wrap": sheet.wrap, "notes": sheet.notes}
        return change_call_sheet(sheet, sheet.version, fields, pictures, calls_of(sheet))
    draft = proposal(production, hand.studio, hand.today, day)
    away = now.away(day)
    gone = {pk for pk, name in now.names.items() if name in away}
    calls = {pk: call for pk, call in draft.calls.items() if pk not in gone}
    is_short = planned.hours < hand.studio.hours_per_day
    wrap = wrap_after(draft.call, planned.hours) if is_short else draft.wrap
    fields = {"day": day, "call": draft.call, "wrap": wrap, "notes": ""}
    return make_call_sheet(production, fields, pictures, calls)


@transaction.atomic
def issue_call_sheet(sheet: CallSheet, hand: Hand) -> CallSheetIssue:
    """Freeze a call sheet as it stands, with its paper, as the next revision.

    Raises NotPossible for an archived sheet, and where nothing changed since the last revision.
    """
    Production.objects.select_for_update().get(pk=sheet.production_id)
    sheet = CallSheet.objects.select_related("production").get(pk=sheet.pk)
    if sheet.archived_at:
        raise NotPossible("This call sheet is archived. Bring it back before issuing it.")
    plan = call_sheet_page(sheet, hand.studio, hand.today).plan
    said = contents(plan)
    last = sheet.issues.defer("pdf").first()
    changed = changes(SheetContents.read(last.contents), said) if last else ()
    if last and not changed:
        raise NotPossible(
            f"Nothing changed since revision {last.letter}. Change the call sheet first."
        )
    issue = CallSheetIssue(
        call_sheet=sheet,
        number=last.number if last else _next_number(sheet.production),
        revision=last.revision + 1 if last else 1,
        issued_at=hand.now,
        issued_by=hand.by,
        changes=list(changed),
        contents=said.kept(),
    )
    plan = replace(plan, issue=f"No. {issue.number}, revision {issue.letter}", changes=changed)
    issue.pdf = printed(plan, hand.studio.paper)
    issue.save()
    return issue


def _next_number(production: Production) -> int:
    issued = CallSheetIssue.objects.filter(call_sheet__production=production)
    return next_number(issued)


def file_name(issue: CallSheetIssue) -> str:
    """What the paper of a revision is called."""
    sheet = issue.call_sheet
    return (
        f"{sheet.production.code}_call-sheet_{issue.number}{issue.letter}_"
        f"{sheet.day.isoformat()}.pdf"
    )


def send_call_sheet(issue: CallSheetIssue) -> list[Person]:
    """Mail a revision to everybody on the sheet with an address, each alone.

    Raises NotPossible where nobody has an address, and where the mail server refuses.
    """
    sheet = issue.call_sheet
    people = [one.person for one in sheet.people.select_related("person") if one.person.email]
    if not people:
        raise NotPossible("Nobody on this sheet has an e-mail address. Download the PDF instead.")
    subject = f"Call sheet {sheet.production.code}, {day_words(sheet.day)}, {issue.letter}"
    mails = [_mail(issue, subject, person) for person in people]
    try:
        get_connection().send_messages(mails)
    except OSError as error:  # smtplib's errors are among them
        raise NotPossible(
            f"The mail server did not take it ({error}). Download the PDF, or try again."
        ) from error
    return people


def _mail(issue: CallSheetIssue, subject: str, person: Person) -> EmailMessage:
    said = issue.contents
    lines = [f"{said['day']}, call {said['call']}, wrap {said['wrap']}.", *issue.changes]
    mail = EmailMessage(subject, "\n".join(lines) + "\n", to=[person.email])
    mail.attach(file_name(issue), bytes(issue.pdf), "application/pdf")
    return mail
