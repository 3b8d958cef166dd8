"""Set-ups: the list of a production, one lock card, and editing it."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from shots.forms.setup import SetupForm
from shots.models import Setup
from shots.queries import setups as queries
from shots.services import setups as services
from shots.views.productions import get_production
from studio.errors import NotPossible
from studio.services import archive
from studio.web import DONE, save_or_explain


def setups(request, code: str):
    """The set-ups of one production."""
    page = queries.setups(get_production(code), request.studio)
    return render(request, "shots/setups.html", {"page": page, "production": page.production})


def setup(request, code: str, pk: int):
    """One lock card, and the shots taken in it."""
    production = get_production(code)
    page = queries.setup(get_object_or_404(production.setups, pk=pk), request.studio)
    return render(request, "shots/setup.html", {"page": page, "production": production})


def setup_new(request, code: str):
    """Add a set-up."""
    production = get_production(code)
    form = SetupForm(request.POST or None)
    status = DONE
    if request.method == "POST":
        status = save_or_explain(
            form, lambda: services.add_setup(production, form.changes, form.lamps_typed)
        )
        if status == DONE:
            messages.success(request, f"Set-up {form.cleaned_data['code']} was added.")
            return redirect("shots:setups", production.code)
    context = {"form": form, "production": production}
    return render(request, "shots/setup_edit.html", context, status=status)


def setup_edit(request, code: str, pk: int):
    """Change a lock card."""
    production = get_production(code)
    row = get_object_or_404(production.setups.current(), pk=pk)
    form = SetupForm(request.POST or None, instance=Setup.objects.get(pk=pk))
    status = DONE
    if request.method == "POST":
        status = save_or_explain(
            form,
            lambda: services.change_setup(row, form.version_seen, form.changes, form.lamps_typed),
        )
        if status == DONE:
            messages.success(request, "Saved.")
            return redirect("shots:setup", production.code, pk)
    context = {"form": form, "production": production, "setup": row}
    return render(request, "shots/setup_edit.html", context, status=status)


@require_POST
def setup_archive(request, code: str, pk: int):
    """Put a set-up aside; its page offers to bring it back."""
    production = get_production(code)
    row = get_object_or_404(production.setups.current(), pk=pk)
    archive(row, request.now)
    messages.success(request, f"Set-up {row.code} was archived. Its shots stay as they are.")
    return redirect("shots:setup", production.code, pk)


@require_POST
def setup_restore(request, code: str, pk: int):
    """Bring an archived set-up back."""
    production = get_production(code)
    row = get_object_or_404(production.setups, pk=pk)
    try:
        services.restore_setup(row)
        messages.success(request, f"Set-up {row.code} is back.")
    except NotPossible as refusal:
        messages.error(request, refusal.sentence)
    return redirect("shots:setup", production.code, pk)
