"""Invoices and credit notes: the list, a draft, an issued one with its payments."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from clients.forms.invoice import (
    CreditForm,
    InvoiceForm,
    IssueForm,
    NewCreditForm,
    NewInvoiceForm,
    PaymentForm,
    lines_of,
    typed_lines,
)
from clients.models import Invoice, Payment
from clients.queries import invoices as queries
from clients.queries.invoice_paper import missing_from, paper_of, pdf_of
from clients.services import invoices as services
from clients.trade.quoting.errors import QuoteError
from studio.web import (
    DONE,
    INVALID,
    done_or_said,
    owner_required,
    pdf_response,
    save_or_explain,
)


def get_invoice(pk: int) -> Invoice:
    """The invoice or credit note with everything its page reads, or 404."""
    invoice = queries.invoice_with_parts(pk)
    if invoice is None or invoice.archived_at:
        raise Http404("There is no such invoice, or it was archived.")
    return invoice


@owner_required
def invoices(request):
    """All invoices, by state and year."""
    state, year = request.GET.get("state", ""), _year(request)
    state = state if state in queries.STATES else ""
    context = {
        "page": queries.invoice_list(state, year, request.GET.get("page"), request.today),
        "states": queries.STATES,
        "state": state,
        "year": year,
    }
    return render(request, "clients/invoices.html", context)


def _year(request: HttpRequest) -> int | None:
    year = request.GET.get("year", "")
    return int(year) if year.isdecimal() and len(year) == 4 else None


@owner_required
def invoices_csv(request):
    """The issued papers, for the accountant. Marked as UTF-8, so that spreadsheets read names."""
    year = _year(request)
    content = queries.accountants_list(year).encode("utf-8-sig")
    response = HttpResponse(content, content_type="text/csv; charset=utf-8")
    name = f"invoices-{year}" if year else "invoices"
    response.headers["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    return response


@owner_required
def invoice_new(request):
    """Start an invoice of its own lines."""
    form = NewInvoiceForm(request.POST or None, initial=request.GET.dict())
    started, status = [], DONE
    if request.method == "POST":
        status = save_or_explain(
            form, lambda: started.append(services.start_invoice(**form.cleaned_data))
        )
        if status == DONE:
            messages.success(request, "This is the draft. Write its lines, then issue it.")
            return redirect("clients:invoice", started[0].pk)
    return render(request, "clients/invoice_new.html", {"form": form}, status=status)


@owner_required
def invoice(request, pk: int):
    """The draft while it is one; afterwards the invoice as it was issued, and its payments."""
    seen = get_invoice(pk)
    if not seen.is_draft:
        return _issued_page(request, seen)
    if request.method != "POST":
        return _draft_page(request, seen)
    form = _form_of(seen)(request.POST, instance=seen)
    lines = lines_of(seen, request.POST) if not seen.is_credit else None
    status = _save(seen, form, lines)
    if status != DONE:
        return _draft_page(request, get_invoice(pk), {"form": form, "lines": lines}, status)
    messages.success(request, "Saved.")
    return redirect("clients:invoice", pk)


def _form_of(invoice: Invoice) -> type:
    return CreditForm if invoice.is_credit else InvoiceForm


def _save(invoice: Invoice, form, lines) -> int:
    if lines is not None and not lines.is_valid():
        form.is_valid()
        return INVALID
    rows = typed_lines(lines) if lines is not None else []
    return save_or_explain(
        form, lambda: services.save_invoice(invoice, form.version_seen, form.changes, rows)
    )


def _draft_page(
    request: HttpRequest, invoice: Invoice, forms: dict | None = None, status: int = DONE
) -> HttpResponse:
    """`forms` are those just typed in, with what is wrong in them."""
    summed, refusal = None, ""
    try:
        summed = queries.draft_sum(invoice)
    except QuoteError as error:
        refusal = error.sentence
    context = {
        "invoice": invoice,
        "parts": invoice.parts.select_related("payment", "change_order__quote"),
        "summed": summed,
        "refusal": refusal,
        "missing": missing_from(invoice, request.studio),
        "form": _form_of(invoice)(instance=invoice),
        "lines": None if invoice.is_credit else lines_of(invoice),
        "issue": IssueForm(initial={"issued_on": request.today}),
    }
    return render(request, "clients/invoice_draft.html", context | (forms or {}), status=status)


def _issued_page(
    request: HttpRequest, invoice: Invoice, forms: dict | None = None, status: int = DONE
) -> HttpResponse:
    """`forms` are those just typed in; `taken_back` is a payment put aside just now."""
    row = queries.row_of(invoice, request.today)
    left = abs(row.stands.outstanding) if row.stands else None
    context = {
        "invoice": invoice,
        "row": row,
        "left": left,
        "refund": bool(row.stands and row.stands.outstanding < 0),
        "paper": queries.issued_paper(invoice),
        "payment": PaymentForm(initial={"paid_on": request.today, "amount": left}),
        "credit": NewCreditForm(),
    }
    return render(request, "clients/invoice.html", context | (forms or {}), status=status)


@owner_required
@require_POST
def invoice_issue(request, pk: int):
    """Number it, freeze it and print it."""
    draft, form = get_invoice(pk), IssueForm(request.POST)
    status = save_or_explain(
        form,
        lambda: services.issue_invoice(
            draft, form.cleaned_data["issued_on"], request.studio, request.today
        ),
    )
    if status == DONE:
        messages.success(request, "It is frozen. Give the client its PDF.")
        return redirect("clients:invoice", pk)
    current = get_invoice(pk)
    if not current.is_draft:
        messages.error(request, f"{current.name} was issued already.")
        return redirect("clients:invoice", pk)
    return _draft_page(request, current, {"issue": form}, status)


@owner_required
def invoice_paper(request, pk: int):
    """The PDF as it was issued; of a draft, as it would look today."""
    seen = get_invoice(pk)
    if not seen.is_draft:
        return pdf_response(bytes(seen.issued.pdf), f"{seen.kind}-{seen.reference}.pdf")
    try:
        summed = queries.draft_sum(seen)
    except QuoteError as error:
        messages.error(request, error.sentence)
        return redirect("clients:invoice", pk)
    paper = paper_of(seen, summed, request.studio, request.today)
    return pdf_response(pdf_of(paper), f"{seen.kind}-draft.pdf")


@owner_required
@require_POST
def invoice_credit(request, pk: int):
    """Start a credit note against an issued invoice."""
    whole, form, started = get_invoice(pk), NewCreditForm(request.POST), []
    if whole.is_draft:
        return redirect("clients:invoice", pk)
    status = save_or_explain(
        form, lambda: started.append(services.start_credit(whole, **form.cleaned_data))
    )
    if status == DONE:
        messages.success(request, "This is the draft. Look it over, then issue it.")
        return redirect("clients:invoice", started[0].pk)
    return _issued_page(request, whole, {"credit": form}, status)


@owner_required
@require_POST
def invoice_archive(request, pk: int):
    """Put a draft aside."""
    draft = get_invoice(pk)
    words = f"{draft} was archived. Bring it back at the foot of the page."
    if not done_or_said(request, lambda: services.archive_invoice(draft, request.now), words):
        return redirect("clients:invoice", pk)
    return redirect("clients:invoices")


@owner_required
@require_POST
def invoice_restore(request, pk: int):
    """Bring an archived draft back."""
    draft = get_object_or_404(Invoice, pk=pk)
    if not done_or_said(request, lambda: services.restore_invoice(draft), f"{draft} is back."):
        return redirect("clients:invoices")
    return redirect("clients:invoice", pk)


@owner_required
@require_POST
def payment_new(request, pk: int):
    """Note money that came in, or was paid back."""
    seen, form = get_invoice(pk), PaymentForm(request.POST)
    if seen.is_draft:
        return redirect("clients:invoice", pk)
    note = services.note_refund if request.POST.get("back") else services.note_payment
    status = save_or_explain(form, lambda: note(seen, today=request.today, **form.cleaned_data))
    if status == DONE:
        messages.success(request, "Noted.")
        return redirect("clients:invoice", pk)
    return _issued_page(request, get_invoice(pk), {"payment": form}, status)


@owner_required
@require_POST
def payment_archive(request, pk: int, payment: int):
    """It was noted by mistake; the page offers to bring it back."""
    row = get_object_or_404(Payment.objects.current(), invoice_id=pk, pk=payment)
    services.take_back_payment(row, request.now)
    return _issued_page(request, get_invoice(pk), {"taken_back": row})


@owner_required
@require_POST
def payment_restore(request, pk: int, payment: int):
    """Bring a payment back."""
    row = get_object_or_404(Payment, invoice_id=pk, pk=payment)
    done_or_said(request, lambda: services.restore_payment(row, request.today), "It is back.")
    return redirect("clients:invoice", pk)
