"""What if, the record of one production, and the calibration across all of them."""

from dataclasses import asdict

from django.contrib import messages
from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from shots.forms.forecast import WhatIfForm
from shots.queries import record as records
from shots.queries.what_if import shots_left, tried
from shots.services import what_if as plans
from shots.views.productions import UNDO_PLAN, get_production
from studio.errors import EditedMeanwhile, NotPossible
from studio.web import CONFLICT, DONE, INVALID, owner_required, page_or_part


@require_GET
def what_if(request, code: str):
    """Date and odds under a changed plan, beside the present promise. Saves nothing."""
    return _answer(request, code, request.GET)


def _answer(
    request: HttpRequest, code: str, data, refusal: str = "", status: int = DONE
) -> HttpResponse:
    production = get_production(code)
    left = shots_left(production)
    form = WhatIfForm(
        data, left=left, today=request.today, hours_per_day=float(request.studio.hours_per_day)
    )
    context = {"production": production, "what_if_form": form, "refusal": refusal}
    if form.is_valid():
        context["answer"] = tried(production, request.studio, request.today, form.plan, left)
    else:
        status = INVALID
    return page_or_part(
        request, "shots/forecast_what_if.html", "shots/_forecast_answer.html", context, status
    )


@owner_required
@require_POST
def what_if_save(request, code: str):
    """Save what can be saved of a changed plan: deadline, exposures, cuts."""
    production = get_production(code)
    form = WhatIfForm(
        request.POST,
        left=shots_left(production),
        today=request.today,
        hours_per_day=float(request.studio.hours_per_day),
    )
    if not form.is_valid():
        return _answer(request, code, request.POST)
    seen = request.POST.get("read_version", "")
    version = int(seen) if seen.isdecimal() else 0
    try:
        saved = plans.save_plan(production, version, form.plan)
    except NotPossible as refusal:
        return _answer(request, code, request.POST, refusal.sentence, INVALID)
    except EditedMeanwhile:
        refusal = "Somebody changed this production meanwhile. This is how it looks now."
        return _answer(request, code, request.POST, refusal, CONFLICT)
    undo = [production.pk, [asdict(one) for one in saved]]
    request.session[UNDO_PLAN] = signing.dumps(undo, salt=UNDO_PLAN)
    return redirect("shots:film", production.code)


@owner_required
@require_POST
def what_if_undo(request, code: str):
    """Take a saved plan back."""
    production = get_production(code)
    try:
        film, saved = signing.loads(request.POST.get("undo", ""), salt=UNDO_PLAN)
        if film != production.pk:
            raise NotPossible("That change belongs to another film. Nothing was undone.")
        plans.take_back(production, [plans.Saved(**one) for one in saved])
    except signing.BadSignature:
        messages.error(request, "That change is no longer known. Change it back by hand.")
    except NotPossible as refusal:
        messages.error(request, refusal.sentence)
    else:
        messages.success(request, "Taken back: the film stands as before.")
    return redirect("shots:film", production.code)


def record(request, code: str):
    """How the promise of one production moved, against what happened."""
    page = records.record(get_production(code))
    context = {"page": page, "production": page.production}
    return render(request, "shots/forecast_record.html", context)


def calibration(request):
    """What was said across productions, and what happened."""
    page = records.calibration(request.studio)
    return render(request, "shots/forecast_calibration.html", {"page": page})
