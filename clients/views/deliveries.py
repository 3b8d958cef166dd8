"""Deliveries of a production: made, read, offered, answered."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from clients.documents.delivery_sheet import delivery_sheet
from clients.forms.delivery import AnswerForm, DeliveryForm
from clients.models import DeliveredFile, DeliveredVersion, Delivery, DeliveryLink
from clients.queries import deliveries as queries
from clients.services import deliveries as services
from clients.services import private_links
from shots.views.productions import get_production
from studio.ranges import download
from studio.trade.manifest import FILE_NAME
from studio.web import DONE, owner_required, pdf_response, save_or_explain


def get_delivery(code: str, number: int) -> Delivery:
    """The delivery of that production and number, or 404."""
    rows = Delivery.objects.select_related("production", "made_by")
    return get_object_or_404(rows, production=get_production(code), number=number)


@owner_required
def production_deliveries(request, code: str):
    """What left the house so far."""
    production = get_production(code)
    context = {"production": production, "rows": queries.deliveries_of(production)}
    return render(request, "clients/production_deliveries.html", context)


@owner_required
def delivery_new(request, code: str):
    """Choose what leaves; the delivery is made in the background."""
    production = get_production(code)
    ready = queries.ready(production)
    start = {"day": request.today, "licence": queries.licence_of(production)}
    form = DeliveryForm(request.POST or None, ready=ready, initial=start)
    status = DONE
    if request.method == "POST":
        begun = []
        status = save_or_explain(
            form,
            lambda: begun.append(
                services.begin_delivery(production, form.chosen, form.letter, request.user)
            ),
        )
        if status == DONE:
            return redirect("studio:work", begun[0].pk)
    context = {
        "production": production,
        "form": form,
        "kept_back": [row for row in ready if row.refusal],
    }
    return render(request, "clients/delivery_new.html", context, status=status)


@owner_required
def delivery(request, code: str, number: int):
    """One delivery, and what the client said to it."""
    return _page(request, get_delivery(code, number))


def _page(
    request: HttpRequest,
    row: Delivery,
    *,
    answer: AnswerForm | None = None,
    token: str = "",
    status: int = DONE,
) -> HttpResponse:
    """`token` is the secret of a link made just now, shown this once."""
    form = answer or AnswerForm()
    context = {
        "page": queries.delivery_page(row),
        "production": row.production,
        "answer": form,
        "answered": form.answered,
        "now": request.now,
    }
    if token:
        address = reverse("clients:client_delivery", args=[token])
        context["fresh"] = request.build_absolute_uri(address)
    response = render(request, "clients/delivery.html", context, status=status)
    response.headers["Cache-Control"] = "no-store"
    return response


@owner_required
def delivery_paper(request, code: str, number: int):
    """The delivery sheet as it left, with the client's answers."""
    return paper_response(request, get_delivery(code, number))


def paper_response(request: HttpRequest, row: Delivery) -> HttpResponse:
    """The PDF of a delivery's sheet."""
    content = delivery_sheet(queries.paper_of(row, request.studio), request.studio.paper)
    return pdf_response(content, f"{row.production.code}_delivery-{row.number}.pdf")


@owner_required
def delivery_manifest(request, code: str, number: int):
    """The checksum list that goes with the files."""
    return manifest_response(get_delivery(code, number))


def manifest_response(row: Delivery) -> HttpResponse:
    """manifest-sha256.txt of a delivery."""
    response = HttpResponse(row.manifest, content_type="text/plain; charset=utf-8")
    response.headers["Content-Disposition"] = f'attachment; filename="{FILE_NAME}"'
    return response


@owner_required
@require_safe
def delivery_file(request, code: str, number: int, pk: int):
    """A file as it left, offered or not."""
    file = get_object_or_404(DeliveredFile, of__delivery=get_delivery(code, number), pk=pk)
    return download(request, file.file, file.name, file.sha256)


@owner_required
@require_POST
def delivery_offer(request, code: str, number: int, version: int):
    """Let the client download a version, or no longer."""
    row = get_object_or_404(get_delivery(code, number).versions, pk=version)
    services.set_offered(row, request.POST.get("offered") == "yes")
    return redirect("clients:delivery", code, number)


@owner_required
@require_POST
def delivery_answer(request, code: str, number: int):
    """Note an answer that came another way."""
    row, form = get_delivery(code, number), AnswerForm(request.POST)
    status = save_or_explain(form, lambda: answer(form, row, request, noted_by=request.user))
    if status == DONE:
        messages.success(request, "Noted.")
        return redirect("clients:delivery", code, number)
    return _page(request, row, answer=form, status=status)


def answer(form: AnswerForm, row: Delivery, request: HttpRequest, **by) -> None:
    """Keep what the form says about one version of a delivery."""
    said = form.cleaned_data
    version = get_object_or_404(DeliveredVersion, delivery=row, pk=said["of"])
    services.answer(version, said["kind"], said["name"], said["words"], request.now, **by)


@owner_required
@require_POST
def delivery_link_new(request, pk: int):
    """A private address for the client, shown once."""
    row = get_object_or_404(Delivery, pk=pk)
    return _page(request, row, token=services.make_link(row, request.now))


@owner_required
@require_POST
def delivery_link_revoke(request, pk: int, link: int):
    """Close a private address."""
    row = get_object_or_404(DeliveryLink, delivery=pk, pk=link)
    private_links.revoke_link(row, request.now)
    messages.success(request, "That link opens nothing any more.")
    return redirect("clients:delivery", row.delivery.production.code, row.delivery.number)
