"""Clients and the people there."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from clients.forms.client import ClientForm, ContactForm, LinkForm
from clients.models import Client, Contact
from clients.queries import clients as queries
from clients.services import clients as services
from studio.errors import NotPossible
from studio.services import archive, restore, save_changes
from studio.web import DONE, owner_required, page_or_part, save_or_explain


def get_client(pk: int) -> Client:
    """The client, or 404 where there is none or it is archived."""
    return get_object_or_404(Client.objects.current(), pk=pk)


@owner_required
def clients(request):
    """All clients, searched as you type."""
    page = queries.clients(request.GET.get("q", "").strip(), request.GET.get("page"))
    undo = request.GET.get("undo")
    context = {
        "page": page,
        "archived_now": next((row for row in page.archived if str(row.pk) == undo), None),
    }
    return page_or_part(request, "clients/clients.html", "clients/_client_rows.html", context)


@owner_required
def client_new(request):
    """Take a client on."""
    start = {"currency": request.studio.currency}
    form = ClientForm(request.POST or None, initial=start)
    status = DONE
    if request.method == "POST":
        status = save_or_explain(form, lambda: services.add_client(form.changes))
        if status == DONE:
            client = Client.objects.current().get(name=form.cleaned_data["name"])
            messages.success(request, f"{client} was added. Add a contact next.")
            return redirect("clients:client", client.pk)
    return render(request, "clients/client_edit.html", {"form": form}, status=status)


@owner_required
def client(request, pk: int):
    """One client: terms, contacts, films."""
    return client_page(request, get_client(pk), LinkForm())


def client_page(request, seen: Client, link: LinkForm, status: int = DONE):
    """The client's page, with the form that links a film to it."""
    page = queries.client_page(seen)
    undo = request.GET.get("undo")
    context = {
        "page": page,
        "link": link,
        "archived_now": next((row for row in page.archived_contacts if str(row.pk) == undo), None),
    }
    return render(request, "clients/client.html", context, status=status)


@owner_required
def client_edit(request, pk: int):
    """Change a client's details."""
    seen = get_client(pk)
    form = ClientForm(request.POST or None, instance=get_client(pk))
    status = DONE
    if request.method == "POST":
        status = save_or_explain(
            form, lambda: services.change_client(seen, form.version_seen, form.changes)
        )
        if status == DONE:
            messages.success(request, "Saved.")
            return redirect("clients:client", pk)
    return render(
        request, "clients/client_edit.html", {"form": form, "client": seen}, status=status
    )


@owner_required
@require_POST
def client_archive(request, pk: int):
    """Put a client aside, with an undo."""
    archive(get_client(pk), request.now)
    return redirect(f"{reverse('clients:clients')}?undo={pk}")


@owner_required
@require_POST
def client_restore(request, pk: int):
    """Bring an archived client back."""
    archived = get_object_or_404(Client, pk=pk)
    try:
        services.restore_client(archived)
    except NotPossible as refusal:
        messages.error(request, refusal.sentence)
        return redirect("clients:clients")
    messages.success(request, f"{archived} is back.")
    return redirect("clients:client", pk)


@owner_required
def contact_new(request, pk: int):
    """Add somebody at the client's."""
    at = get_client(pk)
    form = ContactForm(request.POST or None)
    status = DONE
    if request.method == "POST":
        status = save_or_explain(form, lambda: services.add_contact(at, form.changes))
        if status == DONE:
            messages.success(request, f"{form.cleaned_data['name']} was added.")
            return redirect("clients:client", pk)
    return render(request, "clients/contact.html", {"form": form, "client": at}, status=status)


def _contact(pk: int, contact: int) -> Contact:
    return get_object_or_404(Contact.objects.current(), client=get_client(pk), pk=contact)


@owner_required
def contact_edit(request, pk: int, contact: int):
    """Change somebody's details at the client's."""
    seen = _contact(pk, contact)
    form = ContactForm(request.POST or None, instance=_contact(pk, contact))
    status = DONE
    if request.method == "POST":
        status = save_or_explain(form, lambda: save_changes(seen, form.version_seen, form.changes))
        if status == DONE:
            messages.success(request, "Saved.")
            return redirect("clients:client", pk)
    context = {"form": form, "client": seen.client, "contact": seen}
    return render(request, "clients/contact.html", context, status=status)


@owner_required
@require_POST
def contact_archive(request, pk: int, contact: int):
    """Take somebody off the client's page, with an undo."""
    archive(_contact(pk, contact), request.now)
    return redirect(f"{reverse('clients:client', args=[pk])}?undo={contact}")


@owner_required
@require_POST
def contact_restore(request, pk: int, contact: int):
    """Bring a contact back."""
    archived = get_object_or_404(Contact, client=get_client(pk), pk=contact)
    restore(archived)
    messages.success(request, f"{archived} is back.")
    return redirect("clients:client", pk)
