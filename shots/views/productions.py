"""The list of productions, one production's film page, and the floor's own lists."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from shots.forms.forecast import WhatIfForm
from shots.forms.production import DifficultyFormSet, PreShootCheckFormSet, ProductionForm
from shots.models import Difficulty, PreShootCheck, Production
from shots.queries import film
from shots.queries.quoted import quoted_against_measured
from shots.services import floor
from shots.services.promises import keep_promises
from studio.services import archive, restore
from studio.web import DONE, INVALID, done_or_said, owner_required, save_or_explain

UNDO_PLAN = "what-if undo"  # what the session keeps of a plan just saved; also its salt


def get_production(code: str) -> Production:
    """The production of that code, or 404."""
    return get_object_or_404(Production.objects.current(), code__iexact=code)


def productions(request):
    """Every production with its strip and where it stands."""
    rows = film.productions(request.GET.get("page"))
    return render(request, "shots/productions.html", {"rows": rows})


@owner_required
def production_new(request):
    """Open a production."""
    form = ProductionForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        production = floor.start_production(form.changes)
        messages.success(request, f"{production.title} is open. Add its shots next.")
        return redirect("shots:shots", production.code)
    status = INVALID if form.is_bound else DONE
    return render(request, "shots/production_edit.html", {"form": form}, status=status)


@owner_required
def production_edit(request, code: str):
    """Change a production's details."""
    production = get_production(code)
    form = ProductionForm(request.POST or None, instance=get_production(code))
    status = DONE
    if request.method == "POST":
        status = save_or_explain(
            form, lambda: floor.change_production(production, form.version_seen, form.changes)
        )
        if status == DONE:
            messages.success(request, "Saved.")
            return redirect("shots:film", form.cleaned_data["code"])
    context = {"form": form, "production": production}
    return render(request, "shots/production_edit.html", context, status=status)


def film_page(request, code: str):
    """Strip, fan, days left and odds of one film."""
    page = film.film(get_production(code), request.studio, request.today)
    owner = request.user.is_owner
    context = {
        "page": page,
        "production": page.production,
        "undo": request.session.pop(UNDO_PLAN, None) if owner else None,
    }
    if owner:
        left = page.ahead.left if page.ahead else None
        context["quoted"] = quoted_against_measured(page.production, left)
    if page.ahead:
        if page.production.stage == Production.Stage.RUNNING:
            keep_promises({page.production.pk: page.ahead.left}, request.today)
        context["what_if_form"] = WhatIfForm(
            None,
            left=page.ahead.shots_left,
            today=request.today,
            hours_per_day=float(request.studio.hours_per_day),
        )
    return render(request, "shots/film.html", context)


@owner_required
@require_POST
def stage(request, code: str):
    """Say that a film is at quote, running or delivered."""
    production = get_production(code)
    wanted = request.POST.get("stage")
    if wanted in Production.Stage.values:
        label = Production.Stage(wanted).label
        done_or_said(
            request,
            lambda: floor.set_stage(production, request.POST.get("seen", ""), wanted),
            f"{production.title} is now {label}.",
        )
    else:
        messages.error(request, "Choose one of: at quote, running, delivered.")
    return redirect("shots:film", production.code)


@owner_required
@require_POST
def production_archive(request, code: str):
    """Put a production aside."""
    production = get_production(code)
    archive(production, request.now)
    undo = "Bring it back under Productions, at the foot of the page."
    messages.success(request, f"{production.title} was archived. {undo}")
    return redirect("shots:productions")


@owner_required
@require_POST
def production_restore(request, code: str):
    """Bring an archived production back."""
    production = get_object_or_404(Production, code__iexact=code)
    restore(production)
    messages.success(request, f"{production.title} is back.")
    return redirect("shots:film", production.code)


@owner_required
def floor_lists(request):
    """Difficulties with their assumed pace, and the pre-shoot checks."""
    data = request.POST or None
    difficulties = DifficultyFormSet(data, prefix="difficulty", queryset=Difficulty.objects.all())
    checks = PreShootCheckFormSet(data, prefix="check", queryset=PreShootCheck.objects.all())
    status = DONE
    if request.method == "POST":
        if difficulties.is_valid() and checks.is_valid():
            floor.keep_lists(difficulties, checks)
            messages.success(request, "Saved.")
            return redirect("shots:floor_lists")
        status = INVALID
    context = {"difficulties": difficulties, "checks": checks}
    return render(request, "shots/floor_lists.html", context, status=status)
