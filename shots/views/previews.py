"""Previews: seen, downloaded, and made anew."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from shots.models import Production, Shot
from shots.queries.previews import find_preview, preview_page
from shots.services.previews import ask_for_preview
from shots.views.pictures import get_picture_shot
from shots.views.productions import get_production
from studio.errors import NotPossible
from studio.ranges import ranged_response


def shot_preview(request, code: str, pk: int):
    """The preview of one shot; posted to, it is made anew."""
    shot = get_picture_shot(code, pk)
    return _preview(request, shot.production, shot)


def film_preview(request, code: str):
    """The preview of the whole film, in the order of its shots; posted to, it is made anew."""
    return _preview(request, get_production(code), None)


def _preview(request: HttpRequest, production: Production, shot: Shot | None) -> HttpResponse:
    if request.method == "POST":
        try:
            preview = ask_for_preview(production, shot, request.user)
        except NotPossible as refusal:
            messages.error(request, refusal.sentence)
            return redirect(request.path)
        return redirect(preview)
    page = preview_page(production, shot)
    context = {"page": page, "production": production, "shot": shot}
    return render(request, "shots/preview.html", context)


@require_GET
def shot_preview_file(request, code: str, pk: int):
    """The film of one shot."""
    shot = get_picture_shot(code, pk)
    return _file(request, shot.production, shot)


@require_GET
def film_preview_file(request, code: str):
    """The film of the whole production."""
    return _file(request, get_production(code), None)


def _file(request: HttpRequest, production: Production, shot: Shot | None) -> HttpResponse:
    preview = find_preview(production, shot)
    if preview is None or not preview.file:
        raise Http404("No preview has been made yet.")
    response = ranged_response(request, preview.file, "video/mp4")
    if "save" in request.GET:
        response.headers["Content-Disposition"] = f'attachment; filename="{preview.file_name}"'
    return response
