"""Money that comes in for an invoice, and goes back."""

from datetime import date, timedelta
from decimal import Decimal as D

import pytest
from django.urls import reverse

from clients.models import Payment
from clients.queries import invoices as queries
from clients.services import invoices as services
from studio.errors import NotPossible
from tests import factories
from tests.clients.at_once import at_the_same_moment
from tests.clients.quote_cast import NOW, TODAY
from tests.clients.test_invoices import drafted, issue


@pytest.fixture
def issued(studio):
    """An invoice of 120.00, due on 16 March."""
    return issue(drafted(factories.ClientFactory(payment_days=14)), studio)


def pay(issued, amount, on=TODAY, today=TODAY):
    return services.note_payment(issued, D(amount), on, "", today)


def stands(issued, today=TODAY):
    return queries.row_of(queries.invoice_with_parts(issued.pk), today)


def test_payments_in_parts_lead_to_paid(issued):
    assert stands(issued).words == "open"
    pay(issued, "50.00")
    assert stands(issued).words == "paid in part"
    assert stands(issued, date(2026, 3, 20)).words == "paid in part, 4 days overdue"
    pay(issued, "70")
    assert (stands(issued).words, stands(issued).state) == ("paid", "settled")


@pytest.mark.parametrize(
    ("amount", "on", "field", "sentence"),
    [
        ("120.01", TODAY, "amount", r"0\.01 EUR more than the 120\.00 EUR still to pay"),
        ("0", TODAY, "amount", "above 0"),
        ("-5", TODAY, "amount", "above 0"),
        ("1.005", TODAY, "amount", "finer than the coins"),
        ("1e30", TODAY, "amount", "or less"),
        ("NaN", TODAY, "amount", "enter a number"),
        ("5", TODAY + timedelta(days=1), "paid_on", "not here yet"),
        ("5", TODAY - timedelta(days=1), "paid_on", "dated 2 March 2026"),
    ],
)
def test_a_payment_that_cannot_be_is_refused_at_its_entry(issued, amount, on, field, sentence):
    with pytest.raises(NotPossible, match=sentence) as refused:
        pay(issued, amount, on)
    assert refused.value.field == field
    assert not Payment.objects.exists()


def test_a_draft_and_a_credit_note_take_no_payment(issued, studio):
    note = services.start_credit(issued, None, "Wrong")
    for wrong in (note, issue(note, studio)):
        with pytest.raises(NotPossible, match="takes no payment"):
            pay(wrong, "5")


def test_a_payment_is_taken_back_and_brought_back(issued):
    payment = pay(issued, "120")
    services.take_back_payment(payment, NOW)
    assert stands(issued).words == "open"
    services.restore_payment(payment, TODAY)
    assert stands(issued).words == "paid"


def test_a_payment_is_not_brought_back_beyond_what_is_due(issued):
    payment = pay(issued, "120")
    services.take_back_payment(payment, NOW)
    payment.refresh_from_db()
    pay(issued, "1")
    with pytest.raises(NotPossible, match=r"Only 119\.00 EUR"):
        services.restore_payment(payment, TODAY)


def test_what_was_credited_after_payment_is_paid_back(issued, studio):
    pay(issued, "120")
    issue(services.start_credit(issued, D("20"), "Less felt"), studio)
    assert stands(issued).words == "paid too much"
    with pytest.raises(NotPossible, match=r"Only 20\.00 EUR more came in"):
        services.note_refund(issued, D("20.01"), TODAY, "", TODAY)
    services.note_refund(issued, D("20"), TODAY, "", TODAY)
    assert stands(issued).words == "paid"
    with pytest.raises(NotPossible, match="Only 0"):
        services.note_refund(issued, D("1"), TODAY, "", TODAY)


@pytest.mark.django_db(transaction=True)
def test_the_same_payment_noted_twice_at_the_same_moment_stands_once(issued):
    answers = at_the_same_moment(lambda: pay(issued, "120"), lambda: pay(issued, "120"))
    assert sum(isinstance(one, NotPossible) for one in answers) == 1
    assert Payment.objects.get().amount == 120


def test_the_page_notes_takes_back_and_undoes(issued, owner_client):
    at = lambda name, *more: reverse(f"clients:{name}", args=[issued.pk, *more])  # noqa: E731
    wrong = owner_client.post(at("payment_new"), {"amount": "500", "paid_on": "2026-03-02"})
    assert wrong.status_code == 422
    assert "still to pay: note no more here" in wrong.content.decode()
    said = {"amount": "20.50", "paid_on": "2026-03-02", "note": "by bank"}
    owner_client.post(at("payment_new"), said)
    payment = Payment.objects.get()
    page = owner_client.post(at("payment_archive", payment.pk)).content.decode()
    assert "The payment was taken back" in page
    assert "Undo" in page
    owner_client.post(at("payment_restore", payment.pk))
    page = owner_client.get(at("invoice")).content.decode()
    assert "by bank" in page
    assert "€99.50 are still to pay" in page
