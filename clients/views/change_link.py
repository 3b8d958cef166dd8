"""A change order through its private link, without an account."""

from django.contrib.auth.decorators import login_not_required
from django.shortcuts import redirect, render

from clients.forms.change_order import ChangeAcceptForm
from clients.forms.quote import DeclineForm
from clients.models import ChangeOrderLink
from clients.queries.change_orders import change_order_with_parts, paper_of
from clients.services import change_orders as services
from clients.views.change_orders import accept_change
from clients.views.private_pages import closed, private
from studio.web import DONE, done_or_said, pdf_response, save_or_explain


@login_not_required
def client_change(request, token: str):
    """The change order, and the place to accept or decline it."""
    link = services.open_link(token, request.now)
    if link is None:
        return closed(request)
    if request.method == "POST" and request.POST.get("act") == "decline":
        return _decline(request, link, token)
    form, status = ChangeAcceptForm(), DONE
    if request.method == "POST":
        form = ChangeAcceptForm(request.POST)
        status = save_or_explain(form, lambda: accept_change(request, link.order, form, link))
        if status == DONE:
            return private(redirect("clients:client_change", token))
    order = change_order_with_parts(link.order_id)
    context = {
        "order": order,
        "paper": paper_of(order.sent),
        "form": form,
        "decline": DeclineForm(),
        "token": token,
        "lapsed": order.has_lapsed(request.today),
    }
    return private(render(request, "clients/client_change.html", context, status=status))


def _decline(request, link: ChangeOrderLink, token: str):
    words = DeclineForm(request.POST).said
    done_or_said(request, lambda: services.decline_change_order(link.order, request.now, words))
    return private(redirect("clients:client_change", token))


@login_not_required
def client_change_pdf(request, token: str):
    """The PDF behind a private link."""
    link = services.open_link(token, request.now)
    if link is None:
        return closed(request)
    name = f"change-order-{link.order.reference}.pdf"
    return private(pdf_response(bytes(link.order.sent.pdf), name))
