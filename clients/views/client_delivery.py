"""What a client sees of a delivery through a private link, without an account."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from clients.forms.delivery import AnswerForm
from clients.models import DeliveredFile, DeliveryLink
from clients.queries.deliveries import delivery_page
from clients.services.deliveries import open_link
from clients.views.deliveries import answer, manifest_response, paper_response
from clients.views.private_pages import closed, private
from studio.ranges import download
from studio.web import DONE, save_or_explain


@login_not_required
def client_delivery(request, token: str):
    """The delivery: its sheet, its files, and the place to sign each off or ask for a change."""
    link = open_link(token, request.now)
    if link is None:
        return closed(request)
    if request.method != "POST":
        return _page(request, link, token, AnswerForm())
    form = AnswerForm(request.POST)
    status = save_or_explain(form, lambda: answer(form, link.delivery, request, by_link=link))
    if status == DONE:
        return private(redirect("clients:client_delivery", token))
    return _page(request, link, token, form, status)


def _page(
    request: HttpRequest, link: DeliveryLink, token: str, form: AnswerForm, status: int = DONE
) -> HttpResponse:
    context = {
        "page": delivery_page(link.delivery),
        "production": link.delivery.production,
        "answer": form,
        "answered": form.answered,
        "token": token,
    }
    return private(render(request, "clients/client_delivery.html", context, status=status))


@login_not_required
@require_safe
def client_delivery_paper(request, token: str):
    """The delivery sheet behind a private link."""
    link = open_link(token, request.now)
    return closed(request) if link is None else private(paper_response(request, link.delivery))


@login_not_required
@require_safe
def client_delivery_manifest(request, token: str):
    """The checksum list behind a private link."""
    link = open_link(token, request.now)
    return closed(request) if link is None else private(manifest_response(link.delivery))


@login_not_required
@require_safe
def client_delivery_file(request, token: str, pk: int):
    """A file of the delivery, as long as the owner offers it."""
    link = open_link(token, request.now)
    offered = DeliveredFile.objects.filter(of__offered=True, pk=pk)
    file = offered.filter(of__delivery=link.delivery).first() if link else None
    if file is None:
        return closed(request)
    return private(download(request, file.file, file.name, file.sha256))
