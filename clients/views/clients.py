"""Clients and their contacts."""

from django.shortcuts import render

from clients.models import Client
from studio.web import owner_required


@owner_required
def clients(request):
    """All clients, searched as you type."""
    return render(request, "clients/clients.html", {"clients": Client.objects.current()})
