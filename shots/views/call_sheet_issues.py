"""Handing out call sheets: from the plan, issued, printed as issued, sent."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from shots.forms.call_sheet import DayForm
from shots.services import call_sheet_issues as services
from shots.services.plan import Hand
from shots.views.productions import get_production
from studio.errors import NotPossible
from studio.web import pdf_response


@require_POST
def call_sheet_from_plan(request, code: str):
    """Make the call sheet of a planned day, or put the plan's shots on the one there is."""
    production = get_production(code)
    form = DayForm(request.POST)
    if not form.is_valid():
        messages.error(request, "Choose a day of the plan.")
        return redirect("shots:plan", production.code)
    try:
        sheet = services.call_sheet_from_plan(production, form.cleaned_data["day"], _hand(request))
    except NotPossible as refusal:
        messages.error(request, refusal.sentence)
        return redirect("shots:plan", production.code)
    messages.success(request, "The plan’s shots are on it. Look it over, then issue it.")
    return redirect("shots:call_sheet", production.code, sheet.pk)


@require_POST
def call_sheet_issue(request, code: str, pk: int):
    """Freeze a call sheet as it stands."""
    production = get_production(code)
    sheet = get_object_or_404(production.call_sheets, pk=pk)
    try:
        issue = services.issue_call_sheet(sheet, _hand(request))
        messages.success(request, f"Issued as no. {issue.number}, revision {issue.letter}.")
    except NotPossible as refusal:
        messages.error(request, refusal.sentence)
    return redirect("shots:call_sheet", production.code, pk)


def call_sheet_issue_pdf(request, code: str, pk: int, issue_pk: int):
    """A revision as it was handed out."""
    issue = _issue(code, pk, issue_pk)
    return pdf_response(bytes(issue.pdf), services.file_name(issue))


@require_POST
def call_sheet_send(request, code: str, pk: int, issue_pk: int):
    """Mail a revision to the people on it."""
    issue = _issue(code, pk, issue_pk)
    try:
        people = services.send_call_sheet(issue)
        messages.success(request, f"Sent to {', '.join(person.name for person in people)}.")
    except NotPossible as refusal:
        messages.error(request, refusal.sentence)
    return redirect("shots:call_sheet", code, pk)


def _issue(code: str, pk: int, issue_pk: int):
    sheet = get_object_or_404(get_production(code).call_sheets, pk=pk)
    return get_object_or_404(sheet.issues.select_related("call_sheet__production"), pk=issue_pk)


def _hand(request) -> Hand:
    return Hand(request.studio, request.user, request.now)
