"""The specifications the studio keeps: its own, and those that come with it."""

import json

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from clients.forms.specification import SpecificationFileForm, SpecificationForm
from clients.models import StudioSpecification
from clients.queries import specifications as queries
from clients.services import specifications as services
from clients.trade.filename import portable
from studio.services import archive
from studio.web import DONE, done_or_said, owner_required, save_or_explain


def get_specification(pk: int) -> StudioSpecification:
    """The specification, or 404 where there is none or it is archived."""
    return get_object_or_404(StudioSpecification.objects.current(), pk=pk)


@owner_required
def specifications(request):
    """All of them, and what each asks for."""
    page = queries.specifications()
    undo = request.GET.get("undo")
    context = {
        "page": page,
        "archived_now": next((row for row in page.archived if str(row.pk) == undo), None),
    }
    return render(request, "clients/specifications.html", context)


@owner_required
def specification_new(request):
    """A specification from nothing."""
    form = SpecificationForm(request.POST or None)
    status = DONE
    if request.method == "POST":
        status = save_or_explain(form, lambda: services.add_specification(**form.changes))
        if status == DONE:
            messages.success(request, f"{form.cleaned_data['title']} is kept.")
            return redirect("clients:specifications")
    return render(request, "clients/specification_edit.html", {"form": form}, status=status)


@owner_required
def specification_import(request):
    """A specification from a SPEC.json."""
    form = SpecificationFileForm(request.POST or None, request.FILES or None)
    status = DONE
    if request.method == "POST":
        made = []
        status = save_or_explain(
            form,
            lambda: made.append(
                services.add_specification(form.title, services.items_of(form.specification))
            ),
        )
        if status == DONE:
            messages.success(request, "It came in. Read it through.")
            return redirect("clients:specification", made[0].pk)
    return render(request, "clients/specification_import.html", {"form": form}, status=status)


@owner_required
def specification(request, pk: int):
    """Read and change one."""
    seen = get_specification(pk)
    form = SpecificationForm(request.POST or None, instance=get_specification(pk))
    status = DONE
    if request.method == "POST":
        status = save_or_explain(
            form, lambda: services.change_specification(seen, form.version_seen, form.changes)
        )
        if status == DONE:
            messages.success(request, "Saved.")
            return redirect("clients:specifications")
    context = {"form": form, "specification": seen}
    return render(request, "clients/specification_edit.html", context, status=status)


@owner_required
@require_safe
def specification_export(request, pk: int):
    """The same as a SPEC.json, as `manage.py verify` reads it."""
    row = get_specification(pk)
    content = json.dumps({"title": row.title, **row.items}, ensure_ascii=False, indent=2)
    response = HttpResponse(content + "\n", content_type="application/json")
    name = f"{portable(row.title) or 'specification'}.json"
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


@owner_required
@require_POST
def specification_copy(request, pk: int):
    """The same once more, to change what differs."""
    copy = services.copy_specification(get_specification(pk))
    messages.success(request, "This is the copy. Change what differs.")
    return redirect("clients:specification", copy.pk)


@owner_required
@require_POST
def specification_archive(request, pk: int):
    """Put one aside, with an undo; deliverables that chose it keep it."""
    archive(get_specification(pk), request.now)
    return redirect(f"{reverse('clients:specifications')}?undo={pk}")


@owner_required
@require_POST
def specification_restore(request, pk: int):
    """Bring one back."""
    archived = get_object_or_404(StudioSpecification, pk=pk)
    done_or_said(request, lambda: services.restore_specification(archived), f"{archived} is back.")
    return redirect("clients:specifications")
