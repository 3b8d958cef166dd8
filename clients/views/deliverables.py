"""Files promised to a client, their checks, and the sheet that goes with them."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from clients.documents import delivery_sheet as document
from clients.forms.deliverable import CheckForm, DeliverableForm, NewDeliverableForm
from clients.models import Deliverable, DeliverableCheck
from clients.queries import deliverables as queries
from clients.services import deliverables as services
from shots.models import Production
from shots.views.productions import get_production
from studio.changes import as_it_stood
from studio.errors import EditedMeanwhile, NotPossible
from studio.services import archive, restore
from studio.web import (
    CONFLICT,
    DONE,
    INVALID,
    owner_required,
    past_asked,
    pdf_response,
    save_or_explain,
    wants_part,
)


def get_deliverable(code: str, pk: int) -> Deliverable:
    """The deliverable of that production, or 404 where there is none or it is archived."""
    rows = Deliverable.objects.current().select_related("production", "specification")
    return get_object_or_404(rows, production=get_production(code), pk=pk)


def get_check(code: str, pk: int, check: int) -> DeliverableCheck:
    """The check of that deliverable, or 404 where there is none or it was taken off."""
    rows = DeliverableCheck.objects.current()
    return get_object_or_404(rows, deliverable=get_deliverable(code, pk), pk=check)


def _page_of(production: Production, anchor: Deliverable | None = None, undo: str = ""):
    address = reverse("clients:deliverables", args=[production.code])
    place = f"#deliverable-{anchor.pk}" if anchor else ""
    return redirect(f"{address}{undo}{place}")


@owner_required
def deliveries(request):
    """Every production with what is promised and how much of it is checked."""
    page = queries.deliveries(request.GET.get("page"))
    rows = list(page.object_list)
    context = {
        "page": page,
        "promised": [row for row in rows if row.files],
        "without": [row for row in rows if not row.files],
    }
    return render(request, "clients/deliveries.html", context)


@owner_required
def deliverables(request, code: str):
    """One production's deliverables."""
    page = queries.deliverables_page(get_production(code))
    undo = request.GET.get("undo")
    context = {
        "page": page,
        "production": page.production,
        "archived_now": next((row for row in page.archived if str(row.pk) == undo), None),
    }
    return render(request, "clients/deliverables.html", context)


@owner_required
def deliverable_new(request, code: str):
    """Promise a file."""
    production = get_production(code)
    form = NewDeliverableForm(request.POST or None, instance=Deliverable(production=production))
    status = DONE
    if request.method == "POST":
        status = save_or_explain(
            form,
            lambda: services.add_deliverable(production, form.changes, form.cleaned_data["checks"]),
        )
        if status == DONE:
            messages.success(request, f"{form.cleaned_data['name']} is on the list.")
            return _page_of(production)
    context = {"form": form, "production": production}
    return render(request, "clients/deliverable_edit.html", context, status=status)


@owner_required
def deliverable_edit(request, code: str, pk: int):
    """Change what was promised."""
    seen = get_deliverable(code, pk)
    begun = as_it_stood(get_deliverable(code, pk), past_asked(request, seen))
    form = DeliverableForm(request.POST or None, instance=begun)
    status = DONE
    if request.method == "POST":
        status = save_or_explain(
            form, lambda: services.change_deliverable(seen, form.version_seen, form.changes)
        )
        if status == DONE:
            messages.success(request, "Saved.")
            if form.has_changed() and seen.checks.current().exclude(ticked_at=None).exists():
                messages.warning(
                    request,
                    f"Some checks of {form.cleaned_data['name']} were ticked before this change: "
                    "look at them again.",
                )
            return _page_of(seen.production, seen)
    context = {"form": form, "production": seen.production, "deliverable": seen}
    return render(request, "clients/deliverable_edit.html", context, status=status)


@owner_required
@require_POST
def duplicate(request, code: str, pk: int):
    """The same once more, to change what differs."""
    copy = services.duplicate_deliverable(get_deliverable(code, pk))
    messages.success(request, "This is the copy, with nothing ticked. Change what differs.")
    return redirect("clients:deliverable_edit", copy.production.code, copy.pk)


@owner_required
@require_POST
def move(request, code: str, pk: int):
    """One place up or down."""
    moved = get_deliverable(code, pk)
    services.move_deliverable(moved, 1 if request.POST.get("step") == "down" else -1)
    return _page_of(moved.production, moved)


@owner_required
@require_POST
def deliverable_archive(request, code: str, pk: int):
    """Take a promise off the list, with an undo."""
    put_aside = get_deliverable(code, pk)
    archive(put_aside, request.now)
    return _page_of(put_aside.production, undo=f"?undo={pk}")


@owner_required
@require_POST
def deliverable_restore(request, code: str, pk: int):
    """Bring a promise back."""
    production = get_production(code)
    archived = get_object_or_404(production.deliverables, pk=pk)
    restore(archived)
    messages.success(request, f"{archived} is back.")
    return _page_of(production, archived)


@owner_required
@require_POST
def tick(request, code: str, pk: int, check: int):
    """Tick or untick a check; for htmx the list of checks as it now stands."""
    seen = get_check(code, pk, check)
    version = request.POST.get("read_version", "")
    wanted = request.POST.get("ticked") == "yes"
    try:
        services.set_tick(
            seen, int(version) if version.isdecimal() else 0, wanted, request.user, request.now
        )
    except EditedMeanwhile:
        sentence = "Somebody changed this check meanwhile. Read it again, then tick it."
        return _checks(request, code, pk, CONFLICT, sentence)
    except NotPossible as refusal:
        return _checks(request, code, pk, INVALID, refusal.sentence)
    return _checks(request, code, pk, DONE)


def _checks(request, code: str, pk: int, status: int, sentence: str = ""):
    """After a tick: the list for htmx, the page for everybody else."""
    deliverable = get_deliverable(code, pk)
    if not wants_part(request):
        if sentence:
            messages.warning(request, sentence)
        return _page_of(deliverable.production, deliverable)
    context = {
        "row": queries.promised(deliverable, queries.last_check_of(deliverable)),
        "production": deliverable.production,
        "sentence": sentence,
    }
    return render(request, "clients/_checks.html", context, status=status)


@owner_required
@require_POST
def check_new(request, code: str, pk: int):
    """One more thing to look at."""
    deliverable = get_deliverable(code, pk)
    form = CheckForm(request.POST)
    status = save_or_explain(
        form, lambda: services.add_check(deliverable, form.cleaned_data["text"])
    )
    if status == DONE:
        return _page_of(deliverable.production, deliverable)
    context = {"form": form, "production": deliverable.production, "deliverable": deliverable}
    return render(request, "clients/check.html", context, status=status)


@owner_required
def check_edit(request, code: str, pk: int, check: int):
    """Say a check differently, or take it off."""
    seen = get_check(code, pk, check)
    form = CheckForm(request.POST or None, instance=get_check(code, pk, check))
    status = DONE
    if request.method == "POST":
        status = save_or_explain(
            form,
            lambda: services.change_check(seen, form.version_seen, form.cleaned_data["text"]),
        )
        if status == DONE:
            return _page_of(seen.deliverable.production, seen.deliverable)
    deliverable = seen.deliverable
    context = {
        "form": form,
        "production": deliverable.production,
        "deliverable": deliverable,
        "check": seen,
    }
    return render(request, "clients/check.html", context, status=status)


@owner_required
@require_POST
def check_archive(request, code: str, pk: int, check: int):
    """Take a check off the list; it can be brought back under it."""
    seen = get_check(code, pk, check)
    archive(seen, request.now)
    messages.success(request, f"“{seen}” was taken off. It can be brought back under the checks.")
    return _page_of(seen.deliverable.production, seen.deliverable)


@owner_required
@require_POST
def check_restore(request, code: str, pk: int, check: int):
    """Bring a check back."""
    deliverable = get_deliverable(code, pk)
    restore(get_object_or_404(deliverable.checks, pk=check))
    return _page_of(deliverable.production, deliverable)


@owner_required
def delivery_sheet(request, code: str):
    """The sheet that goes with the files."""
    production = get_production(code)
    sheet = queries.delivery_sheet(production, request.studio, request.today)
    content = document.delivery_sheet(sheet, request.studio.paper)
    return pdf_response(content, f"{production.code}_delivery-sheet.pdf")
