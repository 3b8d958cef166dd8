"""Quotes at the desk: the list, the start, the builder, and the lines in stock."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from clients.documents.quote import quote_pdf
from clients.forms.quote import (
    BudgetForm,
    Builder,
    DayRateFormSet,
    LineTemplateFormSet,
    NewQuoteForm,
)
from clients.models import DayRate, LineTemplate, Quote
from clients.queries import quotes as queries
from clients.queries.earnings import starting_values
from clients.queries.quote_paper import quote_paper
from clients.services import quote_drafts as services
from clients.trade.quoting.backwards import usual_exposure, what_fits
from clients.trade.quoting.days import sessions_by
from clients.trade.quoting.errors import QuoteError
from studio.errors import EditedMeanwhile, NotPossible
from studio.web import (
    CONFLICT,
    DONE,
    INVALID,
    owner_required,
    page_or_part,
    past_asked,
    pdf_response,
    save_or_explain,
)


def get_quote(pk: int) -> Quote:
    """The quote with everything in it, or 404."""
    quote = queries.quote_with_parts(pk)
    if quote is None or quote.archived_at:
        raise Http404("There is no such quote, or it was archived.")
    return quote


def _typed_builder(request: HttpRequest, pk: int) -> Builder:
    """The builder as it is typed; what is stored in the quote's rows need not be read for it."""
    quote = get_object_or_404(Quote.objects.current().select_related("client"), pk=pk)
    return Builder(quote, request.POST)


@owner_required
def quotes(request):
    """All quotes."""
    return render(
        request,
        "clients/quotes.html",
        {"page": queries.quotes(request.today, request.GET.get("page"))},
    )


@owner_required
def quote_new(request):
    """Start a quote."""
    form = NewQuoteForm(request.POST or None, request.FILES or None, initial=_usual(request))
    status, started = DONE, []
    if request.method == "POST":
        status = save_or_explain(form, lambda: started.append(_start(request, form.cleaned_data)))
        if status == DONE:
            messages.success(request, "This is the draft. Change what differs, then send it.")
            return redirect("clients:quote", started[0].pk)
    context = {"form": form, "starts": starting_values(request.studio, request.today)}
    return render(request, "clients/quote_new.html", context, status=status)


def _usual(request: HttpRequest) -> dict:
    """What a new quote most likely begins with."""
    rate = DayRate.objects.filter(person=request.user).first()
    last = Quote.objects.first()
    return {
        "client": request.GET.get("client"),
        "copy_of": request.GET.get("copy"),
        "day_rate": rate and f"{rate.rate.normalize():f}",
        "tax_rate": f"{last.tax_rate.normalize():f}" if last else 0,
    }


def _start(request: HttpRequest, cleaned: dict) -> Quote:
    client, title = cleaned["client"], cleaned["title"]
    if cleaned["copy_of"]:
        return services.copy_quote(cleaned["copy_of"], client, title)
    fields = {name: cleaned[name] for name in ("title", "first_day", "tax_rate", "day_rate")}
    return services.start_quote(client, fields, cleaned["option"], request.user)


@owner_required
def quote(request, pk: int):
    """The builder while it is a draft; afterwards the quote as it was sent."""
    seen = get_quote(pk)
    if not seen.is_draft:
        return redirect("clients:quote_sent", pk)
    if request.method != "POST":
        then = _as_it_stood(request, seen)
        return _builder_page(request, then or Builder(seen), typed=bool(then))
    builder = Builder(seen, request.POST)
    act = request.POST.get("act", "save")
    if act not in ("save", "send"):
        return _acted(request, builder, act)
    status = _save(builder, Builder(seen).entries)
    if status == DONE:
        messages.success(request, "Saved.")
        return redirect("clients:quote_send" if act == "send" else "clients:quote", pk)
    return _builder_page(request, builder, status)


def _as_it_stood(request: HttpRequest, seen: Quote) -> Builder | None:
    """The builder as it was at a moment that is asked for, if that was kept."""
    past = past_asked(request, seen)
    kept = past and seen.kept_versions.filter(version=past.record.version).first()
    if kept is None:
        return None
    return Builder(seen, kept.entries | {"read_version": str(seen.version)})


def _save(builder: Builder, stood: dict[str, str]) -> int:
    if not builder.is_valid():
        return INVALID
    form = builder.form
    try:
        services.save_draft(builder.quote, form.version_seen, form.changes, builder.draft(), stood)
    except EditedMeanwhile as meanwhile:
        form.meet(meanwhile.current)
        return CONFLICT
    except NotPossible as refusal:
        form.add_error(None, refusal.sentence)
        return INVALID
    return DONE


def _acted(request: HttpRequest, builder: Builder, act: str) -> HttpResponse:
    """A button of the page: rows come, go and move; nothing is saved but a line put in stock."""
    verb, _, place = act.partition(":")
    if verb == "keep":
        _keep_line(request, builder, place)
    else:
        builder.act(act, request.POST.get("line", ""), queries.stock())
    return _builder_page(request, builder, typed=True)


def _keep_line(request: HttpRequest, builder: Builder, place: str) -> None:
    row = next((row for row in builder.sheet.lines if row.prefix == place), None)
    made = row and row.read()
    if made:
        services.keep_line(made.line)
        messages.success(request, f"“{made.line.label}” is in stock for other quotes.")
    else:
        messages.error(request, "That line cannot be kept before it is right.")


def _builder_page(
    request: HttpRequest, builder: Builder, status: int = DONE, typed: bool = False
) -> HttpResponse:
    context = _priced(request, builder) | {
        "builder": builder,
        "stock": queries.stock(),
        "budget": BudgetForm(),
        "typed": typed or status != DONE,
    }
    page, part = "clients/quote_builder.html", "clients/_quote_builder.html"
    return page_or_part(request, page, part, context, status)


def _priced(request: HttpRequest, builder: Builder) -> dict:
    """What stands in the builder, priced; or what is wrong with it."""
    context = {"quote": builder.quote, "priced": None, "faults": []}
    if not builder.form.is_bound:
        priced = queries.price_quote(builder.quote, request.studio, request.today)
        return context | {"priced": priced, "currency": builder.quote.currency}
    if not builder.is_valid():
        return context | {"faults": builder.faults}
    cleaned = builder.form.cleaned_data
    priced = queries.price(builder.draft(), request.studio, cleaned["first_day"], request.today)
    return context | {"priced": priced, "currency": cleaned["currency"]}


@owner_required
@require_POST
def quote_price(request, pk: int):
    """The price of what is typed, nothing saved; for htmx while somebody types."""
    context = _priced(request, _typed_builder(request, pk))
    return render(request, "clients/_quote_priced.html", context | {"live": True})


@owner_required
@require_POST
def quote_fits(request, pk: int):
    """What fits this budget: the longest film by exposure and difficulty, with the lines typed."""
    builder = _typed_builder(request, pk)
    form = BudgetForm(request.POST)
    context, status = {"quote": builder.quote, "form": form}, INVALID
    if form.is_valid() and builder.is_valid():
        try:
            context["fits"] = _what_fits(request, builder, form.cleaned_data)
            context["currency"] = builder.form.cleaned_data["currency"]
            status = DONE
        except QuoteError as error:
            form.add_error("budget", error.sentence)
    context["faults"] = builder.faults
    return page_or_part(
        request, "clients/quote_fits.html", "clients/_quote_fits.html", context, status
    )


def _what_fits(request: HttpRequest, builder: Builder, asked: dict):
    draft = builder.draft()
    first_day = builder.form.cleaned_data["first_day"]
    known = queries.evidence(request.studio, first_day, request.today)
    first = draft.options[0]
    return what_fits(
        asked["budget"],
        draft.lines_of(0),
        known.pace,
        sessions_by(known.forecasts),
        rate=first.rate,
        exposures=sorted({1, 2, usual_exposure(first)}),
        seconds_per_setup=asked["seconds_per_setup"],
        currency=draft.currency,
        confidence=draft.confidence,
    )


@owner_required
def quote_draft_paper(request, pk: int):
    """The PDF of a draft as it would look today."""
    quote = get_quote(pk)
    if not quote.is_draft:
        return redirect("clients:quote_paper", pk)
    priced = queries.price_quote(quote, request.studio, request.today)
    if priced.refusal:
        messages.error(request, priced.refusal)
        return redirect("clients:quote", pk)
    until = queries.valid_until(quote, request.today)
    paper = quote_paper(quote, priced.offers, priced.plan, request.studio, request.today, until)
    return pdf_response(quote_pdf(paper), "quote-draft.pdf")


@owner_required
def quote_stock(request):
    """Day rates of the people, and the lines the studio uses again."""
    data = request.POST or None
    rates = DayRateFormSet(data, prefix="rate", queryset=DayRate.objects.all())
    lines = LineTemplateFormSet(data, prefix="line", queryset=LineTemplate.objects.all())
    status = DONE
    if request.method == "POST":
        if rates.is_valid() and lines.is_valid():
            services.keep_stock(rates, lines)
            messages.success(request, "Saved.")
            return redirect("clients:quote_stock")
        status = INVALID
    context = {"rates": rates, "lines": lines}
    return render(request, "clients/quote_stock.html", context, status=status)
