"""The paperwork tab, and call sheets."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from shots.documents.call_sheet import call_sheet as printed
from shots.forms.call_sheet import CallSheetForm, Choices, DayForm
from shots.models import CallSheet
from shots.queries import call_sheet as queries
from shots.queries import call_sheet_proposal as proposals
from shots.queries.call_sheet_issues import issues
from shots.services import call_sheets as services
from shots.trade.call import day_words
from shots.views.productions import get_production
from studio.errors import NotPossible
from studio.services import archive
from studio.web import DONE, pdf_response, save_or_explain


def paperwork(request, code: str):
    """Every PDF of one production."""
    page = queries.paperwork(get_production(code), request.studio, request.today)
    context = {"page": page, "production": page.production}
    return render(request, "shots/paperwork.html", context)


def call_sheet(request, code: str, pk: int):
    """One call sheet, to read on a phone."""
    production, sheet = _get(code, pk)
    page = queries.call_sheet(sheet, request.studio, request.today)
    context = {"page": page, "production": production, "issues": issues(sheet, page.plan)}
    return render(request, "shots/call_sheet.html", context)


def call_sheet_pdf(request, code: str, pk: int):
    """One call sheet, to print."""
    production, sheet = _get(code, pk)
    plan = queries.call_sheet(sheet, request.studio, request.today).plan
    filename = f"{production.code}_call-sheet_{sheet.day.isoformat()}.pdf"
    return pdf_response(printed(plan, request.studio.paper), filename)


def call_sheet_new(request, code: str):
    """Make the call sheet of a day, filled with what the day could hold."""
    production = get_production(code)
    asked = DayForm(request.GET)
    day = asked.cleaned_data["day"] if asked.is_valid() else None
    day = day or proposals.next_day(production, request.studio, request.today)
    draft = proposals.proposal(production, request.studio, request.today, day)
    sheet = CallSheet(production=production, day=draft.day, call=draft.call, wrap=draft.wrap)
    form = _form(request, sheet, draft.pictures, draft.calls)
    made = []
    status = DONE
    if request.method == "POST":
        status = save_or_explain(
            form,
            lambda: made.append(
                services.make_call_sheet(production, form.changes, form.pictures, form.calls)
            ),
        )
        if status == DONE:
            return _saved(request, made[0])
    context = {"form": form, "production": production}
    return render(request, "shots/call_sheet_edit.html", context, status=status)


def call_sheet_edit(request, code: str, pk: int):
    """Change a call sheet."""
    production, sheet = _get(code, pk)
    _, typed_on = _get(code, pk)  # a row of its own: validating writes what was typed on it
    form = _form(request, typed_on, proposals.pictures_of(sheet), proposals.calls_of(sheet))
    status = DONE
    if request.method == "POST":
        status = save_or_explain(
            form,
            lambda: services.change_call_sheet(
                sheet, form.version_seen, form.changes, form.pictures, form.calls
            ),
        )
        if status == DONE:
            return _saved(request, sheet)
    context = {"form": form, "production": production, "sheet": sheet}
    return render(request, "shots/call_sheet_edit.html", context, status=status)


@require_POST
def call_sheet_archive(request, code: str, pk: int):
    """Put a call sheet aside; its page offers to bring it back."""
    production, sheet = _get(code, pk)
    archive(sheet, request.now)
    messages.success(request, f"The call sheet of {day_words(sheet.day)} was archived.")
    return redirect("shots:call_sheet", production.code, pk)


@require_POST
def call_sheet_restore(request, code: str, pk: int):
    """Bring an archived call sheet back."""
    production, sheet = _get(code, pk)
    try:
        services.restore_call_sheet(sheet)
        messages.success(request, f"The call sheet of {day_words(sheet.day)} is back.")
    except NotPossible as refusal:
        messages.error(request, refusal.sentence)
    return redirect("shots:call_sheet", production.code, pk)


def _get(code: str, pk: int):
    production = get_production(code)
    return production, get_object_or_404(production.call_sheets, pk=pk)


def _form(request, sheet: CallSheet, pictures, calls) -> CallSheetForm:
    """The form with every shot and person to choose from, those sent along included."""
    every = sheet.production.shots.values_list("pk", flat=True)
    sent = [pk for pk in every if request.POST.get(f"pictures_{pk}")]
    choices = Choices(
        shots=proposals.shots_to_choose(sheet.production, [*pictures, *sent]),
        people=proposals.people_to_call(calls),
        pictures=pictures,
        calls=calls,
    )
    return CallSheetForm(request.POST or None, instance=sheet, choices=choices, today=request.today)


def _saved(request, sheet: CallSheet):
    messages.success(request, "Saved. Look it over, then print it.")
    return redirect("shots:call_sheet", sheet.production.code, sheet.pk)
