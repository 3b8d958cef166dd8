"""The plan tab: the days, moving by hand, wishes, absences, undo."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from shots.forms.plan import AbsenceForm, Move, MoveForm, WishForm
from shots.models import Absence, Production, Wish
from shots.queries.plan_page import plan_page
from shots.services import plan as services
from shots.views.productions import get_production
from studio.errors import NotPossible
from studio.web import DONE, INVALID, page_or_part, save_or_explain, wants_part


def plan(request, code: str):
    """The shots left on working days; a post moves one of them, or a whole set-up."""
    production = get_production(code)
    refusal, status = "", DONE
    if request.method == "POST":
        form = MoveForm(request.POST)
        if form.is_valid():
            try:
                _move(production, form.cleaned_data["to"], _hand(request))
            except NotPossible as refused:
                refusal, status = refused.sentence, INVALID
        else:
            refusal, status = " ".join(form.errors["to"]), INVALID
        if status == DONE and not wants_part(request):
            return redirect("shots:plan", production.code)
    since = request.GET.get("since", "")
    page = plan_page(
        production, request.studio, request.today, int(since) if since.isdecimal() else None
    )
    context = {"page": page, "production": production, "refusal": refusal}
    return page_or_part(request, "shots/plan.html", "shots/_plan.html", context, status)


def _move(production: Production, move: Move, hand: services.Hand) -> None:
    if move.kind == "shot":
        shot = get_object_or_404(production.shots.current(), pk=move.pk)
        if move.day:
            services.pin_shot(shot, move.day, hand)
        else:
            services.unpin_shot(shot, hand)
        return
    setup = get_object_or_404(production.setups.current(), pk=move.pk) if move.pk else None
    if move.day is None:
        raise NotPossible("Say which day the set-up moves to.")
    services.pin_setup(production, setup, move.day, hand)


@require_POST
def plan_undo(request, code: str, pk: int):
    """Take back the last change to the plan."""
    production = get_production(code)
    step = get_object_or_404(production.plan_steps.filter(undone_at=None), pk=pk)
    try:
        services.undo_step(step, _hand(request))
        messages.success(request, f"Taken back: {step.act}")
    except NotPossible as refusal:
        messages.error(request, refusal.sentence)
    return redirect("shots:plan", production.code)


def plan_shot(request, code: str, pk: int):
    """What the plan must respect of one shot."""
    production = get_production(code)
    shot = get_object_or_404(production.shots.current().select_related("setup"), pk=pk)
    wish = Wish.objects.filter(shot=shot).first() or Wish(shot=shot)
    form = WishForm(request.POST or None, instance=wish, shot=shot)
    status = DONE
    if request.method == "POST":
        status = save_or_explain(
            form,
            lambda: services.keep_wishes(
                shot,
                form.version_seen,
                form.changes,
                form.cleaned_data["whole_setup"],
                _hand(request),
            ),
        )
        if status == DONE:
            messages.success(request, f"Kept: the plan respects this of {shot.code} now.")
            return redirect("shots:plan", production.code)
    context = {"form": form, "production": production, "shot": shot}
    return render(request, "shots/plan_shot.html", context, status=status)


def plan_people(request, code: str):
    """Who is away when, or works part-time. It holds for every production."""
    production = get_production(code)
    form = AbsenceForm(request.POST or None, studio=request.studio)
    status = DONE
    if request.method == "POST":
        status = save_or_explain(form, lambda: services.add_absence(form.cleaned_data))
        if status == DONE:
            messages.success(request, "Added. Plans go round it.")
            return redirect("shots:plan_people", production.code)
    context = {
        "form": form,
        "production": production,
        "absences": Absence.objects.select_related("person"),
    }
    return render(request, "shots/plan_people.html", context, status=status)


@require_POST
def absence_remove(request, code: str, pk: int):
    """Take an absence away again."""
    production = get_production(code)
    services.remove_absence(get_object_or_404(Absence, pk=pk))
    messages.success(request, "Removed: that person counts as there again.")
    return redirect("shots:plan_people", production.code)


def _hand(request) -> services.Hand:
    return services.Hand(request.studio, request.user, request.now)
