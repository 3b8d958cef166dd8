"""Bringing a shot list in by paste or file, and handing it out as CSV."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render

from shots.forms.shot import ShotListForm
from shots.services.shot_list import ImportPlan, export_list, import_list, plan_import
from shots.trade.shot_list import ListError
from shots.views.productions import get_production
from studio.errors import NotPossible
from studio.web import CONFLICT, DONE, INVALID


def shot_import(request, code: str):
    """Show what a list will do; write it when told to."""
    production = get_production(code)
    form = ShotListForm(request.POST or None, request.FILES or None)
    if request.method != "POST":
        return _page(request, production, form, DONE)
    if not form.is_valid():
        return _page(request, production, form, INVALID)
    text, seal = form.cleaned_data["text"], request.POST.get("seal", "")
    try:
        if request.POST.get("act") in ("take", "take good"):
            only_good = request.POST["act"] == "take good"
            plan = import_list(production, text, seal, only_good)
            messages.success(request, _what_was_done(plan))
            return redirect("shots:shots", production.code)
        return _page(request, production, form, DONE, plan_import(production, text))
    except ListError as error:
        form.add_error("file" if request.FILES else "pasted", str(error))
        return _page(request, production, form, INVALID)
    except NotPossible as refusal:
        messages.warning(request, refusal.sentence)
        return _page(request, production, form, CONFLICT, plan_import(production, text))


def shot_export(request, code: str):
    """The shot list as CSV, with a byte order mark so that spreadsheets read it as Unicode."""
    production = get_production(code)
    content = export_list(production).encode("utf-8-sig")
    # RFC 4180 section 3: the media type, with the header row declared.
    response = HttpResponse(content, content_type="text/csv; charset=utf-8; header=present")
    name = f"{production.code}-shots.csv"
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response


def _page(request, production, form: ShotListForm, status: int, plan: ImportPlan | None = None):
    context = {"production": production, "form": form, "plan": plan}
    if plan:
        context["text"] = form.cleaned_data["text"]
    return render(request, "shots/shot_import.html", context, status=status)


def _what_was_done(plan: ImportPlan) -> str:
    done = plan.counts
    words = [
        f"{done['new']} shot{'' if done['new'] == 1 else 's'} added",
        f"{done['changed']} changed",
        f"{done['unchanged']} left as they were",
    ]
    if done["errors"]:
        words.append(f"{done['errors']} rows with errors left out")
    return f"{', '.join(words)}."
