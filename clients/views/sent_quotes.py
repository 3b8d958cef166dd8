"""The life of a quote once it is sent: its answers, revisions, and the client's private link."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from clients.forms.quote import AcceptForm, DeclineForm, as_noted
from clients.models import ClientLink, Quote
from clients.queries import quotes as queries
from clients.services import private_links
from clients.services import quotes as services
from clients.views.quotes import get_quote
from studio.errors import NotPossible
from studio.services import restore
from studio.web import DONE, done_or_said, owner_required, pdf_response, save_or_explain


@owner_required
def quote_send(request, pk: int):
    """What is about to be sent; POST numbers, freezes and prints it."""
    quote = get_quote(pk)
    if not quote.is_draft:
        return redirect("clients:quote_sent", pk)
    if request.method == "POST":
        return _done(
            request,
            pk,
            lambda: services.send_quote(quote, request.studio, request.now, request.today),
            "It is frozen. Give the client its PDF, or a private link.",
        )
    context = {
        "quote": quote,
        "priced": queries.price_quote(quote, request.studio, request.today),
        "until": queries.valid_until(quote, request.today),
    }
    return render(request, "clients/quote_send.html", context)


@owner_required
def quote_sent(request, pk: int):
    """A quote as it was sent, and what came of it."""
    quote = get_quote(pk)
    if quote.is_draft:
        return redirect("clients:quote", pk)
    return _sent_page(request, quote)


def _sent_page(
    request: HttpRequest,
    quote: Quote,
    accept: AcceptForm | None = None,
    token: str = "",
    status: int = DONE,
) -> HttpResponse:
    """`token` is the secret of a link made just now, shown this once."""
    context = {
        "quote": quote,
        "paper": queries.paper_of(quote.sent),
        "lapsed": quote.has_lapsed(request.today),
        "links": quote.links.all(),
        "now": request.now,
        "accept": as_noted(accept or AcceptForm(quote=quote)),
        "decline": DeclineForm(),
        "newer": Quote.objects.filter(replaces=quote).first(),
        "revisions": queries.revisions_of(quote),
    }
    if token:
        address = reverse("clients:client_quote", args=[token])
        context["fresh"] = request.build_absolute_uri(address)
    return render(request, "clients/quote_sent.html", context, status=status)


@owner_required
def quote_paper(request, pk: int):
    """The PDF as it was sent."""
    quote = get_quote(pk)
    if quote.is_draft:
        return redirect("clients:quote_draft_paper", pk)
    return pdf_response(bytes(quote.sent.pdf), f"quote-{quote.reference}-{quote.revision}.pdf")


@owner_required
def quote_compare(request, pk: int):
    """Two revisions line by line: this one, sent or in draft, against an earlier one."""
    quote = get_quote(pk)
    earlier = [one for one in queries.revisions_of(quote) if one.revision < quote.revision]
    if not earlier:
        raise Http404("There is no earlier revision to compare with.")
    wanted = request.GET.get("with", "")
    before = next((one for one in earlier if str(one.revision) == wanted), earlier[-1])
    priced = queries.price_quote(quote, request.studio, request.today) if quote.is_draft else None
    offers = priced.offers if priced else queries.offers_of(quote.sent)
    context = {
        "quote": quote,
        "before": before,
        "earlier": earlier,
        "refusal": priced.refusal if priced else "",
        "options": queries.compared(queries.offers_of(before.sent), offers) if offers else (),
    }
    return render(request, "clients/quote_compare.html", context)


@owner_required
@require_POST
def quote_revise(request, pk: int):
    """The next revision."""
    try:
        revision = services.revise_quote(get_quote(pk))
    except NotPossible as refusal:
        messages.error(request, refusal.sentence)
        return redirect("clients:quote_sent", pk)
    messages.success(
        request,
        f"This is revision {revision.revision}. The one sent stays open until this one is sent.",
    )
    return redirect("clients:quote", revision.pk)


@owner_required
@require_POST
def quote_decline(request, pk: int):
    """The client said no."""
    words = DeclineForm(request.POST).said
    return _done(
        request, pk, lambda: services.decline_quote(get_quote(pk), request.now, words), "Noted."
    )


@owner_required
@require_POST
def quote_lapse(request, pk: int):
    """Nobody answers any more."""
    return _done(
        request, pk, lambda: services.lapse_quote(get_quote(pk), request.now), "It has lapsed."
    )


def _done(request: HttpRequest, pk: int, act, words: str) -> HttpResponse:
    """Do it, and say so or why not, on the quote's page."""
    done_or_said(request, act, words)
    return redirect("clients:quote", pk)


@owner_required
@require_POST
def quote_accept(request, pk: int):
    """The client said yes by other means: the owner notes who."""
    quote = get_quote(pk)
    if quote.is_draft:
        return redirect("clients:quote", pk)
    form = AcceptForm(request.POST, quote=quote)
    opened = []
    status = save_or_explain(form, lambda: opened.append(accept(request, quote, form)))
    if status == DONE:
        messages.success(request, f"{opened[0].title} is open, with its shots and set-ups.")
        return redirect("shots:film", opened[0].code)
    return _sent_page(request, get_quote(pk), accept=form, status=status)


def accept(request: HttpRequest, quote: Quote, form: AcceptForm, by_link: ClientLink | None = None):
    """Accept what the form says."""
    return services.accept_quote(
        quote,
        form.cleaned_data["option"],
        form.cleaned_data["name"],
        request.now,
        request.today,
        by_link,
    )


@owner_required
@require_POST
def link_new(request, pk: int):
    """A private address for the client, shown once."""
    quote, made = get_quote(pk), []
    if not done_or_said(request, lambda: made.append(services.make_link(quote, request.now))):
        return redirect("clients:quote", pk)
    return _sent_page(request, quote, token=made[0])


@owner_required
@require_POST
def link_revoke(request, pk: int, link: int):
    """Close a private address."""
    private_links.revoke_link(get_object_or_404(ClientLink, quote_id=pk, pk=link), request.now)
    messages.success(request, "That link opens nothing any more.")
    return redirect("clients:quote_sent", pk)


@owner_required
@require_POST
def quote_archive(request, pk: int):
    """Put a draft, or a quote that came to nothing, aside."""
    quote = get_quote(pk)
    words = f"{quote} was archived. Bring it back at the foot of the page."
    if not done_or_said(request, lambda: services.archive_quote(quote, request.now), words):
        return redirect("clients:quote", pk)
    return redirect("clients:quotes")


@owner_required
@require_POST
def quote_restore(request, pk: int):
    """Bring an archived quote back."""
    quote = get_object_or_404(Quote, pk=pk)
    restore(quote)
    messages.success(request, f"{quote} is back.")
    return redirect("clients:quote", pk)
