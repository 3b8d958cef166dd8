"""What a client sees through a private link, without an account."""

from django.contrib.auth.decorators import login_not_required
from django.shortcuts import redirect, render

from clients.forms.quote import AcceptForm, DeclineForm
from clients.models import ClientLink
from clients.queries.quotes import paper_of, quote_with_parts
from clients.services import quotes as services
from clients.views.private_pages import closed, private
from clients.views.sent_quotes import accept
from studio.web import DONE, done_or_said, pdf_response, save_or_explain


@login_not_required
def client_quote(request, token: str):
    """The quote, and the place to accept or decline it."""
    link = services.open_link(token, request.now)
    if link is None:
        return closed(request)
    form, status = AcceptForm(quote=link.quote), DONE
    if request.method == "POST" and request.POST.get("act") == "decline":
        return _decline(request, link, token)
    if request.method == "POST":
        form = AcceptForm(request.POST, quote=link.quote)
        status = save_or_explain(form, lambda: accept(request, link.quote, form, link))
        if status == DONE:
            return private(redirect("clients:client_quote", token))
    quote = quote_with_parts(link.quote_id)
    context = {
        "quote": quote,
        "paper": paper_of(quote.sent),
        "form": form,
        "decline": DeclineForm(),
        "token": token,
        "lapsed": quote.has_lapsed(request.today),
    }
    return private(render(request, "clients/client_quote.html", context, status=status))


def _decline(request, link: ClientLink, token: str):
    words = DeclineForm(request.POST).said
    done_or_said(request, lambda: services.decline_quote(link.quote, request.now, words))
    return private(redirect("clients:client_quote", token))


@login_not_required
def client_quote_pdf(request, token: str):
    """The PDF behind a private link."""
    link = services.open_link(token, request.now)
    if link is None:
        return closed(request)
    return private(pdf_response(bytes(link.quote.sent.pdf), f"quote-{link.quote.reference}.pdf"))
