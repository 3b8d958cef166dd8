"""What a client sees through a private link, without an account."""

from django.contrib.auth.decorators import login_not_required
from django.http import Http404
from django.shortcuts import redirect, render

from clients.forms.quote import AcceptForm
from clients.services import quotes as services
from studio.web import DONE, pdf_response, save_or_explain

GONE = 404  # an unknown, expired or revoked link look all the same


def _private(response):
    """Keep private pages out of caches and search engines.

    Other sites' logs never see the address: the site's referrer policy is same-origin.
    """
    response.headers["Cache-Control"] = "no-store, private"
    response.headers["X-Robots-Tag"] = "noindex, nofollow"
    return response


def _closed(request):
    return _private(render(request, "clients/link_closed.html", status=GONE))


@login_not_required
def client_quote(request, token: str):
    """The quote, and the place to accept it."""
    link = services.open_link(token, request.now)
    if link is None:
        return _closed(request)
    quote = link.quote
    form = AcceptForm(request.POST or None, quote=quote)
    status = DONE
    if request.method == "POST":
        status = save_or_explain(
            form,
            lambda: services.accept_quote(
                quote,
                form.cleaned_data["option"],
                form.cleaned_data["name"],
                request.studio,
                request.now,
                request.today,
                link,
            ),
        )
        if status == DONE:
            return _private(redirect("clients:client_quote", token))
    quote.refresh_from_db()
    context = {
        "quote": quote,
        "offers": quote.sent.offers,
        "form": form,
        "token": token,
        "lapsed": quote.has_lapsed(request.today),
    }
    return _private(render(request, "clients/client_quote.html", context, status=status))


@login_not_required
def client_quote_pdf(request, token: str):
    """The PDF behind a private link."""
    link = services.open_link(token, request.now)
    if link is None:
        return _closed(request)
    sent = getattr(link.quote, "sent", None)
    if sent is None:
        raise Http404
    return _private(pdf_response(bytes(sent.pdf), f"quote-{link.quote.reference}.pdf"))
