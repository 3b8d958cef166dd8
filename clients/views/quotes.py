"""Quotes at the desk: the list, the builder, and the life of a quote."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from clients.documents.quote import quote_pdf
from clients.forms.quote import AcceptForm, BudgetForm, Builder, NewQuoteForm
from clients.models import ClientLink, Quote
from clients.queries import quotes as queries
from clients.services import quotes as services
from clients.trade.quoting.backwards import usual_exposure, what_fits
from clients.trade.quoting.days import sessions_by
from clients.trade.quoting.errors import QuoteError
from studio.errors import EditedMeanwhile, NotPossible
from studio.services import archive
from studio.web import CONFLICT, DONE, INVALID, owner_required, pdf_response, save_or_explain

# One set-up for every five seconds of film (common practice, no source).
SECONDS_PER_SETUP = 5


def get_quote(pk: int) -> Quote:
    """The quote with everything in it, or 404."""
    quote = queries.quote_with_parts(pk)
    if quote is None or quote.archived_at:
        raise Http404
    return quote


@owner_required
def quotes(request):
    """All quotes."""
    return render(request, "clients/quotes.html", {"rows": queries.quotes(request.today)})


@owner_required
def quote_new(request):
    """Start a quote."""
    form = NewQuoteForm(request.POST or None, initial={"client": request.GET.get("client")})
    status = DONE
    if request.method == "POST":
        started = []
        status = save_or_explain(
            form, lambda: started.append(services.start_quote(**form.cleaned_data))
        )
        if status == DONE:
            return redirect("clients:quote", started[0].pk)
    return render(request, "clients/quote_new.html", {"form": form}, status=status)


@owner_required
def quote(request, pk: int):
    """The builder while it is a draft; afterwards the quote as it was sent."""
    seen = get_quote(pk)
    if not seen.is_draft:
        return _sent_page(request, seen)
    builder = Builder(seen, request.POST or None)
    status = DONE
    if request.method == "POST":
        status = _save(request, builder, pk)
        if status == DONE:
            messages.success(request, "Saved.")
            return redirect("clients:quote", pk)
    priced = queries.price_quote(get_quote(pk), request.studio, request.today)
    return _builder_page(request, builder, priced, status)


def _save(request, builder: Builder, pk: int) -> int:
    if not builder.is_valid():
        return INVALID
    try:
        services.save_draft(
            get_quote(pk), builder.form.version_seen, builder.form.changes, builder.parts
        )
    except EditedMeanwhile as meanwhile:
        builder.form.meet(meanwhile.current)
        return CONFLICT
    except NotPossible as refusal:
        builder.form.add_error(None, refusal.sentence)
        return INVALID
    return DONE


def _builder_page(request, builder: Builder, priced, status: int = DONE):
    context = {
        "quote": builder.quote,
        "builder": builder,
        "priced": priced,
        "budget": BudgetForm(),
        "differences": queries.compared(builder.quote, request.studio, request.today),
    }
    return render(request, "clients/quote_builder.html", context, status=status)


@owner_required
@require_POST
def quote_price(request, pk: int):
    """The price of what is typed, nothing saved; for htmx while somebody types."""
    builder = Builder(get_quote(pk), request.POST)
    if builder.is_valid():
        try:
            draft = builder.draft()
        except QuoteError as error:
            return _priced_part(request, builder, None, error.sentence)
        first_day = builder.form.cleaned_data["first_day"]
        priced = queries.price(draft, request.studio, first_day, request.today)
        return _priced_part(request, builder, priced)
    return _priced_part(
        request, builder, None, "Some fields need a correction: save to see which, and why."
    )


def _priced_part(request, builder: Builder, priced, refusal: str = ""):
    context = {"quote": builder.quote, "priced": priced, "refusal": refusal}
    return render(request, "clients/_quote_priced.html", context)


@owner_required
@require_POST
def option_add(request, pk: int):
    """One more option, a copy of the last."""
    services.add_option(get_quote(pk))
    messages.success(request, "This is a copy of the last option: change what differs.")
    return redirect("clients:quote", pk)


@owner_required
@require_POST
def option_drop(request, pk: int, option: int):
    """Take an option off."""
    try:
        services.drop_option(get_object_or_404(get_quote(pk).options, pk=option))
    except NotPossible as refusal:
        messages.error(request, refusal.sentence)
    return redirect("clients:quote", pk)


@owner_required
def quote_fits(request, pk: int):
    """What fits this budget: the longest film by exposure and difficulty."""
    quote = get_quote(pk)
    form = BudgetForm(request.GET)
    context, status = {"quote": quote, "form": form}, INVALID
    if form.is_valid():
        known = queries.evidence(request.studio, quote.first_day, request.today)
        try:
            draft = queries.draft_of(quote)
            context["fits"] = what_fits(
                form.cleaned_data["budget"],
                draft.lines,
                known.pace,
                sessions_by(known.forecasts),
                rate=draft.options[0].rate,
                exposures=sorted({1, 2, usual_exposure(draft.options[0])}),
                seconds_per_setup=SECONDS_PER_SETUP,
                currency=quote.currency,
                confidence=draft.confidence,
            )
            status = DONE
        except QuoteError as error:
            form.add_error("budget", error.sentence)
    return render(request, "clients/quote_fits.html", context, status=status)


@owner_required
@require_POST
def quote_send(request, pk: int):
    """Number, freeze and print a quote."""
    try:
        sent = services.send_quote(get_quote(pk), request.studio, request.now, request.today)
        messages.success(request, f"{sent.name} is frozen. Give the client its PDF or a link.")
    except NotPossible as refusal:
        messages.error(request, refusal.sentence)
    return redirect("clients:quote", pk)


def _sent_page(
    request, quote: Quote, accept: AcceptForm | None = None, token: str = "", status: int = DONE
):
    """A quote as it was sent. `token` is the secret of a link made just now, shown this once."""
    context = {
        "quote": quote,
        "lapsed": quote.has_lapsed(request.today),
        "links": quote.links.all(),
        "now": request.now,
        "accept": accept or AcceptForm(quote=quote),
        "newer": Quote.objects.filter(replaces=quote).first(),
    }
    if token:
        address = reverse("clients:client_quote", args=[token])
        context["fresh"] = request.build_absolute_uri(address)
    return render(request, "clients/quote_sent.html", context, status=status)


@owner_required
def quote_paper(request, pk: int):
    """The PDF: as it was sent, or as a draft would look today."""
    quote = get_quote(pk)
    if not quote.is_draft:
        return pdf_response(bytes(quote.sent.pdf), f"quote-{quote.reference}.pdf")
    priced = queries.price_quote(quote, request.studio, request.today)
    if priced.refusal:
        messages.error(request, priced.refusal)
        return redirect("clients:quote", pk)
    paper = queries.quote_paper(quote, priced.offers, request.studio, request.today, request.today)
    return pdf_response(quote_pdf(paper), "quote-draft.pdf")


@owner_required
@require_POST
def quote_copy(request, pk: int):
    """A new draft with everything this one has."""
    source = get_quote(pk)
    copy = services.start_quote(source.client, f"{source.title} (copy)"[:200], copy_of=source)
    messages.success(request, "This is the copy. Change what differs.")
    return redirect("clients:quote", copy.pk)


@owner_required
@require_POST
def quote_revise(request, pk: int):
    """The next revision."""
    try:
        revision = services.revise_quote(get_quote(pk))
    except NotPossible as refusal:
        messages.error(request, refusal.sentence)
        return redirect("clients:quote", pk)
    messages.success(request, f"This is revision {revision.revision}. The one sent stays as it is.")
    return redirect("clients:quote", revision.pk)


@owner_required
@require_POST
def quote_decline(request, pk: int):
    """The client said no."""
    try:
        services.decline_quote(get_quote(pk), request.now)
    except NotPossible as refusal:
        messages.error(request, refusal.sentence)
    return redirect("clients:quote", pk)


@owner_required
@require_POST
def quote_accept(request, pk: int):
    """The client said yes by other means: the owner notes who."""
    quote = get_quote(pk)
    form = AcceptForm(request.POST, quote=quote)
    opened = []
    status = save_or_explain(form, lambda: opened.append(_accept(request, quote, form)))
    if status == DONE:
        messages.success(request, f"{opened[0].title} is open, with its shots and set-ups.")
        return redirect("shots:film", opened[0].code)
    return _sent_page(request, quote, accept=form, status=status)


def _accept(request, quote: Quote, form: AcceptForm, by_link: ClientLink | None = None):
    return services.accept_quote(
        quote,
        form.cleaned_data["option"],
        form.cleaned_data["name"],
        request.studio,
        request.now,
        request.today,
        by_link,
    )


@owner_required
@require_POST
def link_new(request, pk: int):
    """A private address for the client, shown once."""
    quote = get_quote(pk)
    try:
        token = services.make_link(quote, request.now)
    except NotPossible as refusal:
        messages.error(request, refusal.sentence)
        return redirect("clients:quote", pk)
    return _sent_page(request, quote, token=token)


@owner_required
@require_POST
def link_revoke(request, pk: int, link: int):
    """Close a private address."""
    services.revoke_link(get_object_or_404(ClientLink, quote_id=pk, pk=link), request.now)
    messages.success(request, "That link opens nothing any more.")
    return redirect("clients:quote", pk)


@owner_required
@require_POST
def quote_archive(request, pk: int):
    """Put a draft aside."""
    archive(get_quote(pk), request.now)
    messages.success(request, "The quote was archived.")
    return redirect("clients:quotes")
