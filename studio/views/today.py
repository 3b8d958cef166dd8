"""The first page of the day. Each app brings its own part of it."""

from django.shortcuts import render

from studio import notices, today


def today_page(request):
    """What to shoot today, how it is going, and what needs a hand."""
    context = {"sections": today.sections(request), "notices": notices.collect(request)}
    return render(request, "studio/today.html", context)
