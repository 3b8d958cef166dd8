"""Whom a production is made for: known at the desk, not on the floor."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from clients.forms.client import CommissionForm, LinkForm
from clients.queries.clients import client_of
from clients.services import clients as services
from clients.views.clients import client_page, get_client
from shots.forms.production import ProductionForm
from shots.views.productions import get_production
from studio.web import DONE, owner_required, save_or_explain


@owner_required
def production_new(request, pk: int):
    """Open a production for this client."""
    client = get_client(pk)
    form = ProductionForm(request.POST or None)
    status = DONE
    if request.method == "POST":
        status = save_or_explain(form, lambda: services.open_production(client, form.changes))
        if status == DONE:
            messages.success(
                request, f"{form.cleaned_data['title']} is open. List its deliverables next."
            )
            return redirect("clients:deliverables", form.cleaned_data["code"])
    context = {"form": form, "client": client}
    return render(request, "clients/production_new.html", context, status=status)


@owner_required
@require_POST
def production_link(request, pk: int):
    """Say that an open production is made for this client."""
    client = get_client(pk)
    form = LinkForm(request.POST)
    status = save_or_explain(
        form, lambda: services.link_production(form.cleaned_data["production"], client, None)
    )
    if status != DONE:
        return client_page(request, client, form, status)
    messages.success(request, f"{form.cleaned_data['production'].title} is made for {client}.")
    return redirect("clients:client", pk)


@owner_required
def commission(request, code: str):
    """Change whom a production is made for."""
    production = get_production(code)
    stands = client_of(production)
    form = CommissionForm(request.POST or None, stands=stands)
    status = DONE
    if request.method == "POST":
        seen = request.POST.get("seen", "")
        seen = int(seen) if seen.isdecimal() else None
        status = save_or_explain(
            form, lambda: services.link_production(production, form.cleaned_data["client"], seen)
        )
        if status == DONE:
            client = form.cleaned_data["client"]
            messages.success(request, f"Now made for {client or 'no client yet'}.")
            return redirect("clients:deliverables", production.code)
    context = {"form": form, "production": production, "stands": client_of(production)}
    return render(request, "clients/commission.html", context, status=status)
