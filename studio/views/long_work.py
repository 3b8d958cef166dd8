"""Watching long work, and stopping it."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from studio import long_work
from studio.models import LongWork
from studio.web import page_or_part

NEWEST = 50


def all_work(request):
    """The newest long work: what runs, what waits, how the rest ended."""
    newest = LongWork.objects.visible_to(request.user).select_related("asked_by")[:NEWEST]
    return render(request, "studio/all_work.html", {"all_work": newest})


def work(request, pk: int):
    """How one piece of long work stands; the part asks for itself again until it is over."""
    row = get_object_or_404(LongWork.objects.visible_to(request.user), pk=pk)
    response = page_or_part(request, "studio/work.html", "studio/_work.html", {"work": row})
    if row.is_over:
        response.headers["HX-Trigger"] = "work-over"  # a page around it may show what came of it
    return response


@require_POST
def stop(request, pk: int):
    """Ask one piece of long work to stop."""
    row = get_object_or_404(LongWork.objects.visible_to(request.user), pk=pk)
    long_work.ask_to_stop(row)
    if not request.htmx:
        messages.success(request, f"“{row}” was asked to stop.")
        return redirect("studio:work", pk)
    return work(request, pk)
