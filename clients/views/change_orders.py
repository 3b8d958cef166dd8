"""Change orders at the desk: the draft and its rows, the order as sent, and what came of it."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from clients.documents.change_order import change_order_pdf
from clients.forms.change_order import (
    ChangeAcceptForm,
    ChangeOrderForm,
    CutForm,
    ExtraLineForm,
    LengthForm,
    NewShotForm,
)
from clients.forms.quote import DeclineForm, as_noted
from clients.models import ChangeLine, ChangeOrder, ChangeOrderLink, Quote, ShotChange
from clients.queries import change_orders as queries
from clients.queries.change_order_paper import change_order_paper
from clients.services import change_orders as services
from clients.services.private_links import revoke_link
from shots.views.productions import get_production
from studio.services import restore
from studio.web import DONE, done_or_said, owner_required, pdf_response, save_or_explain


def get_order(pk: int) -> ChangeOrder:
    """The change order with everything in it, or 404."""
    order = queries.change_order_with_parts(pk)
    if order is None or order.archived_at:
        raise Http404("There is no such change order, or it was archived.")
    return order


@owner_required
@require_POST
def change_new(request, code: str):
    """Start a change order to the quote a production was accepted with."""
    production = get_production(code)
    quote = get_object_or_404(Quote, production=production)
    order = services.start_change_order(quote, "A change to the film")
    messages.success(request, "This is the draft. Say what changes, then send it.")
    return redirect("clients:change_order", order.pk)


@owner_required
def change_order(request, pk: int):
    """The draft while it is one; afterwards the change order as it was sent."""
    order = get_order(pk)
    if not order.is_draft:
        return _sent_page(request, order)
    if request.method != "POST":
        return _draft_page(request, order)
    form = ChangeOrderForm(request.POST, instance=order)
    status = save_or_explain(
        form, lambda: services.save_details(order, form.version_seen, form.changes)
    )
    if status == DONE:
        messages.success(request, "Saved.")
        return redirect("clients:change_order", pk)
    return _draft_page(request, get_order(pk), {"form": form}, status)


def _draft_page(
    request: HttpRequest, order: ChangeOrder, forms: dict | None = None, status: int = DONE
) -> HttpResponse:
    """`forms` are those just typed in, with what is wrong in them."""
    production = order.quote.production
    context = {
        "order": order,
        "production": production,
        "page": queries.price_order(order, request.studio, request.today),
        "until": queries.valid_until(order, request.today),
        "form": ChangeOrderForm(instance=order),
        "length": LengthForm(production=production),
        "cut": CutForm(production=production),
        "new": NewShotForm(production=production),
        "line": ExtraLineForm(initial={"tax_rate": order.quote.tax_rate.normalize()}),
    }
    return render(request, "clients/change_draft.html", context | (forms or {}), status=status)


def _row_added(request: HttpRequest, order: ChangeOrder, name: str, form, act) -> HttpResponse:
    """Put what a form says on the draft, or show it again with what is wrong."""
    status = save_or_explain(form, lambda: act(form.cleaned_data))
    if status == DONE:
        return redirect(reverse("clients:change_order", args=[order.pk]) + "#what-changes")
    return _draft_page(request, order, {name: form}, status)


@owner_required
@require_POST
def change_length(request, pk: int):
    """A shot gets another length."""
    order = get_order(pk)
    form = LengthForm(request.POST, production=order.quote.production)
    return _row_added(
        request, order, "length", form,
        lambda said: services.set_length(order, said["shot"], said["screen_frames"]),
    )  # fmt: skip


@owner_required
@require_POST
def change_cut(request, pk: int):
    """A shot leaves the film."""
    order = get_order(pk)
    form = CutForm(request.POST, production=order.quote.production)
    return _row_added(
        request, order, "cut", form, lambda said: services.cut_shot(order, said["shot"])
    )


@owner_required
@require_POST
def change_shot_new(request, pk: int):
    """A shot more."""
    order = get_order(pk)
    form = NewShotForm(request.POST, production=order.quote.production)
    return _row_added(request, order, "new", form, lambda said: services.add_shot(order, said))


@owner_required
@require_POST
def change_line_new(request, pk: int):
    """What else the change costs, or takes off."""
    order = get_order(pk)
    form = ExtraLineForm(request.POST)
    return _row_added(request, order, "line", form, lambda said: services.add_line(order, said))


@owner_required
@require_POST
def change_shot_drop(request, pk: int, row: int):
    """Take a shot's change out of the draft; the page offers to put it back."""
    return _dropped(request, get_order(pk), "shot_changes", row)


@owner_required
@require_POST
def change_line_drop(request, pk: int, row: int):
    """Take a line out of the draft; the page offers to put it back."""
    return _dropped(request, get_order(pk), "lines", row)


def _dropped(request: HttpRequest, order: ChangeOrder, rows: str, pk: int) -> HttpResponse:
    row = get_object_or_404(getattr(order, rows).all(), pk=pk)
    if not done_or_said(request, lambda: services.take_out(order, row)):
        return redirect("clients:change_order", order.pk)
    return _draft_page(request, get_order(order.pk), {"taken_out": _undo_of(row, order)})


def _undo_of(row: ShotChange | ChangeLine, order: ChangeOrder) -> dict:
    """What the page posts to put a row back: its address and its entries."""
    film = {"production": order.quote.production, "auto_id": False}
    if isinstance(row, ChangeLine):
        entries = {name: getattr(row, name) for name in ("label", "amount", "tax_rate")}
        name, form = "change_line_new", ExtraLineForm(initial=entries, auto_id=False)
    elif row.kind == ShotChange.Kind.ADDED:
        name, form = "change_shot_new", NewShotForm(instance=row, **film)
    elif row.kind == ShotChange.Kind.CUT:
        name, form = "change_cut", CutForm(initial={"shot": row.shot_id}, **film)
    else:
        entries = {"shot": row.shot_id, "screen_frames": row.screen_frames}
        name, form = "change_length", LengthForm(initial=entries, **film)
    return {"row": row, "undo": f"clients:{name}", "form": form}


@owner_required
def change_draft_paper(request, pk: int):
    """The PDF of a draft as it would look today."""
    order = get_order(pk)
    price = queries.price_order(order, request.studio, request.today)
    if not order.is_draft or price.refusal:
        return redirect("clients:change_order", pk)
    until = queries.valid_until(order, request.today)
    paper = change_order_paper(order, price.priced, request.studio, request.today, until)
    return pdf_response(change_order_pdf(paper), "change-order-draft.pdf")


@owner_required
def change_paper(request, pk: int):
    """The PDF as it was sent."""
    order = get_order(pk)
    if order.is_draft:
        return redirect("clients:change_draft_paper", pk)
    return pdf_response(bytes(order.sent.pdf), f"change-order-{order.reference}.pdf")


def _sent_page(
    request: HttpRequest,
    order: ChangeOrder,
    accept: ChangeAcceptForm | None = None,
    token: str = "",
    status: int = DONE,
) -> HttpResponse:
    """`token` is the secret of a link made just now, shown this once."""
    context = {
        "order": order,
        "production": order.quote.production,
        "paper": queries.paper_of(order.sent),
        "lapsed": order.has_lapsed(request.today),
        "links": order.links.all(),
        "now": request.now,
        "accept": as_noted(accept or ChangeAcceptForm()),
        "decline": DeclineForm(),
    }
    if token:
        address = reverse("clients:client_change", args=[token])
        context["fresh"] = request.build_absolute_uri(address)
    return render(request, "clients/change_sent.html", context, status=status)


@owner_required
@require_POST
def change_accept(request, pk: int):
    """The client said yes by other means: the owner notes who."""
    order = get_order(pk)
    form = ChangeAcceptForm(request.POST)
    status = save_or_explain(form, lambda: accept_change(request, order, form))
    if status == DONE:
        messages.success(request, "The film, its deadline and its price have grown by it.")
        return redirect("clients:change_order", pk)
    order = get_order(pk)
    if order.is_draft:
        return redirect("clients:change_order", pk)
    return _sent_page(request, order, accept=form, status=status)


def accept_change(
    request: HttpRequest,
    order: ChangeOrder,
    form: ChangeAcceptForm,
    by_link: ChangeOrderLink | None = None,
):
    """Accept what the form says."""
    name = form.cleaned_data["name"]
    return services.accept_change_order(order, name, request.now, request.today, by_link)


def _done(request: HttpRequest, pk: int, act, words: str) -> HttpResponse:
    """Do it, and say so or why not, on the order's page."""
    done_or_said(request, act, words)
    return redirect("clients:change_order", pk)


@owner_required
@require_POST
def change_send(request, pk: int):
    """Number it, freeze it and print it."""
    order = get_order(pk)
    return _done(
        request, pk,
        lambda: services.send_change_order(order, request.studio, request.now, request.today),
        "It is frozen. Give the client its PDF, or a private link.",
    )  # fmt: skip


@owner_required
@require_POST
def change_decline(request, pk: int):
    """The client said no."""
    order, words = get_order(pk), DeclineForm(request.POST).said
    return _done(
        request, pk,
        lambda: services.decline_change_order(order, request.now, words), "Noted.",
    )  # fmt: skip


@owner_required
@require_POST
def change_lapse(request, pk: int):
    """Nobody answers any more, or it was wrong."""
    order = get_order(pk)
    return _done(
        request, pk, lambda: services.lapse_change_order(order, request.now), "It is closed."
    )


@owner_required
@require_POST
def change_link_new(request, pk: int):
    """A private address for the client, shown once."""
    order, made = get_order(pk), []
    if not done_or_said(request, lambda: made.append(services.make_link(order, request.now))):
        return redirect("clients:change_order", pk)
    return _sent_page(request, order, token=made[0])


@owner_required
@require_POST
def change_link_revoke(request, pk: int, link: int):
    """Close a private address."""
    order = get_order(pk)
    revoke_link(get_object_or_404(ChangeOrderLink, order=order, pk=link), request.now)
    messages.success(request, "That link opens nothing any more.")
    return redirect("clients:change_order", pk)


@owner_required
@require_POST
def change_archive(request, pk: int):
    """Put a draft, or an order that came to nothing, aside."""
    order = get_order(pk)
    words = f"{order} was archived. Bring it back at the foot of the page."
    if not done_or_said(request, lambda: services.archive_change_order(order, request.now), words):
        return redirect("clients:change_order", pk)
    return redirect("clients:production_money", order.quote.production.code)


@owner_required
@require_POST
def change_restore(request, pk: int):
    """Bring an archived change order back."""
    order = get_object_or_404(ChangeOrder, pk=pk)
    restore(order)
    messages.success(request, f"{order} is back.")
    return redirect("clients:change_order", pk)
