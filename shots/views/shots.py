"""The table of shots, edited in place, and one shot's own page."""

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST
from django_htmx.http import reswap, retarget

from shots.forms.shot import RetakeForm, ShotFilterForm, ShotForm, SplitForm, StoryboardForm
from shots.models import Production, Shot
from shots.queries import shots as queries
from shots.services import shots as services
from shots.views.productions import get_production
from studio.changes import as_it_stood
from studio.errors import NotPossible
from studio.trade.timecode import seconds_and_frames
from studio.web import DONE, page_or_part, past_asked, save_or_explain, wants_part


def get_shot(production: Production, pk: int) -> Shot:
    """The production's shot with its counts, or 404."""
    try:
        return queries.shot_row(production, pk)
    except Shot.DoesNotExist as error:
        raise Http404("There is no such shot, or it was archived.") from error


def shots(request, code: str):
    """The table of shots, filtered, with the film's running total."""
    return _list(request, get_production(code))


@require_GET
def pictures(request, code: str):
    """The frame budget of what is being typed, as a small part."""
    production = get_production(code)
    form = ShotForm(request.GET, instance=Shot(production=production))
    form.is_valid()
    return render(request, "shots/_pictures.html", {"form": form, "live": True})


def shot_new(request, code: str):
    """Add a shot at the end of the film."""
    production = get_production(code)
    if request.method != "POST":
        page = queries.shots_page(production, {}, 1)
        form = _new_form(production, page.next_code)
        return render(request, "shots/shot_new.html", {"form": form, "production": production})
    form = ShotForm(request.POST, instance=Shot(production=production), auto_id="new_%s")
    status = save_or_explain(form, lambda: services.add_shot(production, form.changes))
    if status == DONE:
        messages.success(request, f"{form.cleaned_data['code']} was added at the end.")
        return _back_to_list(request, production, adding=True)
    context = {"form": form, "production": production, "query": _query(request)}
    return page_or_part(request, "shots/shot_new.html", "shots/_shot_add.html", context, status)


def shot(request, code: str, pk: int):
    """One shot with all its fields; for htmx, the same fields in the table's row."""
    production = get_production(code)
    seen = get_shot(production, pk)
    begun = as_it_stood(get_shot(production, pk), past_asked(request, seen))
    form = ShotForm(request.POST or None, instance=begun, auto_id=f"s{pk}_%s")
    status = DONE
    if request.method == "POST":
        status = save_or_explain(
            form, lambda: services.change_shot(seen, form.version_seen, form.changes)
        )
        if status == DONE:
            return _saved(request, production, pk)
    return _shot_page(request, seen, status, form=form)


def _saved(request: HttpRequest, production: Production, pk: int) -> HttpResponse:
    if wants_part(request):
        return _row(request, production, pk, changed=True)
    messages.success(request, "Saved.")
    return _back_to_list(request, production)


@require_GET
def shot_row(request, code: str, pk: int):
    """The row of one shot as it stands: what *Leave it* puts back."""
    return _row(request, get_production(code), pk)


@require_POST
def shot_duplicate(request, code: str, pk: int):
    """A copy right after the shot."""
    production = get_production(code)
    copy = services.duplicate_shot(get_shot(production, pk))
    messages.success(request, f"{copy.code} is a copy, still to shoot. Change what differs.")
    return _back_to_list(request, production)


@require_POST
def shot_move(request, code: str, pk: int):
    """Up or down one row of those shown; or before or after the row it was dragged to."""
    production = get_production(code)
    moving = get_shot(production, pk)
    target, after = _place_asked_for(request, production, moving)
    if target is not None and target.pk != moving.pk:
        services.move_shot(moving, target, after)
    return _back_to_list(request, production)


def _place_asked_for(request, production: Production, moving: Shot) -> tuple[Shot | None, bool]:
    for side, after in (("before", False), ("after", True)):
        if request.POST.get(side, "").isdecimal():
            return get_shot(production, int(request.POST[side])), after
    down = request.POST.get("step") == "down"
    chosen = ShotFilterForm(request.GET, production).chosen
    return queries.neighbour(production, chosen, moving, down), down


@require_POST
def shot_split(request, code: str, pk: int):
    """Two shots whose frames add up; the pictures kept stay with the first."""
    production = get_production(code)
    seen = get_shot(production, pk)
    form = SplitForm(request.POST, auto_id=f"s{pk}_%s")
    form.fields["at"].rate = production.rate
    status = save_or_explain(form, lambda: services.split_shot(seen, form.cleaned_data["at"]))
    if status != DONE:
        return _shot_page(request, seen, status, split=form)
    first = form.cleaned_data["at"]
    messages.success(
        request,
        f"{seen.code} is now {seconds_and_frames(first, production.rate)} long and the rest is a "
        "shot of its own, right after it. Kept pictures, holds and reused frames stayed with the "
        "first as far as they fit: look at both.",
    )
    return _back_to_list(request, production)


@require_POST
def shot_retake(request, code: str, pk: int):
    """So many kept pictures must be taken again."""
    production = get_production(code)
    seen = get_shot(production, pk)
    form = RetakeForm(request.POST, auto_id=f"s{pk}_%s")
    status = save_or_explain(
        form, lambda: services.mark_to_retake(seen, form.cleaned_data["pictures"])
    )
    if status != DONE:
        return _shot_page(request, seen, status, retake=form)
    again = form.cleaned_data["pictures"]
    messages.success(request, f"{seen.code} is to retake: {again} pictures more are left to take.")
    return _back_to_list(request, production)


@require_POST
def shot_cut(request, code: str, pk: int):
    """Out of the film."""
    production = get_production(code)
    cut = services.cut_shot(get_shot(production, pk))
    messages.success(request, f"{cut.code} is cut. It can be brought back in its row.")
    return _back_to_list(request, production)


@require_POST
def shot_bring_back(request, code: str, pk: int):
    """Back in the film."""
    production = get_production(code)
    back = services.bring_back_shot(get_shot(production, pk))
    messages.success(request, f"{back.code} is back in the film: {back.get_status_display()}.")
    return _back_to_list(request, production)


@require_POST
def shot_archive(request, code: str, pk: int):
    """Put aside, with an undo."""
    production = get_production(code)
    services.archive_shot(get_shot(production, pk), request.now)
    return _back_to_list(request, production, undo=pk)


@require_POST
def shot_restore(request, code: str, pk: int):
    """Bring an archived shot back."""
    production = get_production(code)
    archived = get_object_or_404(production.shots, pk=pk)
    try:
        services.restore_shot(archived)
        messages.success(request, f"{archived.code} is back.")
    except NotPossible as refusal:
        messages.error(request, f"{refusal.sentence} Rename that one, then bring this one back.")
    return _back_to_list(request, production)


def storyboard(request, code: str, pk: int):
    """The storyboard picture itself; POST puts a new one in its place."""
    production = get_production(code)
    seen = get_shot(production, pk)
    if request.method == "POST":
        return _keep_storyboard(request, seen)
    if not seen.storyboard or not seen.storyboard.storage.exists(seen.storyboard.name):
        raise Http404("This shot has no storyboard picture.")
    response = FileResponse(seen.storyboard.open(), content_type="image/jpeg")
    response.headers["X-Content-Type-Options"] = "nosniff"
    # The address carries the row's version, so a new picture has a new address.
    response.headers["Cache-Control"] = "private, max-age=86400"
    return response


def _keep_storyboard(request: HttpRequest, seen: Shot) -> HttpResponse:
    form = StoryboardForm(request.POST, request.FILES)
    status = save_or_explain(
        form, lambda: services.keep_storyboard(seen, form.cleaned_data["picture"].read())
    )
    if status != DONE:
        return _shot_page(request, seen, status, storyboard=form)
    messages.success(request, "The storyboard picture was kept.")
    return redirect("shots:shot", seen.production.code, seen.pk)


@require_POST
def storyboard_remove(request, code: str, pk: int):
    """Take the storyboard picture off."""
    production = get_production(code)
    services.remove_storyboard(get_shot(production, pk))
    messages.success(request, "The storyboard picture was taken off.")
    return redirect("shots:shot", production.code, pk)


def _query(request: HttpRequest) -> str:
    """The filter and page in the address, to come back to the same rows."""
    query = request.GET.copy()
    query.pop("undo", None)
    return query.urlencode()


def _new_form(production: Production, code: str) -> ShotForm:
    return ShotForm(instance=Shot(production=production), initial={"code": code}, auto_id="new_%s")


def _list(
    request, production: Production, adding: bool = False, undo: int | None = None
) -> HttpResponse:
    filters = ShotFilterForm(request.GET, production)
    page = queries.shots_page(production, filters.chosen, _number(request, "page"))
    undo = undo or _number(request, "undo")
    context = {
        "production": production,
        "page": page,
        "totals": page.totals,
        "filters": filters,
        "form": _new_form(production, page.next_code),
        "query": _query(request),
        "adding": adding or not page.everything,
        "is_part": wants_part(request),
        "archived_now": next((shot for shot in page.archived if shot.pk == undo), None),
    }
    return page_or_part(request, "shots/shots.html", "shots/_shot_list.html", context)


def _number(request: HttpRequest, name: str) -> int:
    text = request.GET.get(name, "")
    return int(text) if text.isdecimal() and len(text) < 10 else 0


def _back_to_list(
    request, production: Production, adding: bool = False, undo: int | None = None
) -> HttpResponse:
    """After an act: the fresh list for htmx, a way back to it for everybody else."""
    if wants_part(request):
        return reswap(retarget(_list(request, production, adding, undo), "#shot-list"), "outerHTML")
    query = "&".join(part for part in (_query(request), f"undo={undo}" if undo else "") if part)
    address = reverse("shots:shots", args=[production.code])
    return redirect(f"{address}?{query}" if query else address)


def _row(request, production: Production, pk: int, changed: bool = False) -> HttpResponse:
    context = {
        "shot": get_shot(production, pk),
        "production": production,
        "query": _query(request),
        "totals": queries.shot_totals(production) if changed else None,
    }
    return render(request, "shots/_shot_row.html", context)


def _shot_page(request, seen: Shot, status: int, **forms) -> HttpResponse:
    production, auto_id = seen.production, f"s{seen.pk}_%s"
    form = forms.get("form") or ShotForm(instance=get_shot(production, seen.pk), auto_id=auto_id)
    in_row = wants_part(request)
    focus = next(iter(form.errors), "description")
    if focus in form.fields:
        form.fields[focus].widget.attrs["autofocus"] = in_row
    context = {
        "form": form,
        "split": forms.get("split") or SplitForm(auto_id=auto_id),
        "retake": forms.get("retake") or RetakeForm(auto_id=auto_id),
        "storyboard": forms.get("storyboard") or StoryboardForm(),
        "shot": seen,
        "production": production,
        "query": _query(request),
        "in_row": in_row,
    }
    return page_or_part(request, "shots/shot.html", "shots/_shot_edit.html", context, status)
