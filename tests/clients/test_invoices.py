"""An invoice from its draft to its number, its credit notes, and what prints."""

import csv
import io
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal as D

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pypdf import PdfReader

from clients.models import Invoice, IssuedInvoice, Quote
from clients.queries import change_orders
from clients.queries import invoices as queries
from clients.queries.production_money import production_money
from clients.services import change_orders as changes
from clients.services import invoices as services
from studio.errors import EditedMeanwhile, NotPossible
from studio.models import Studio
from tests import factories
from tests.clients.at_once import at_the_same_moment
from tests.clients.money_cast import accepted_film, quote_of
from tests.clients.quote_cast import NOW, TODAY, with_lists


@pytest.fixture
def client(studio):
    return with_lists(factories.ClientFactory(name="Żółć & Ωmega 工房", payment_days=14))


@pytest.fixture
def film(client, owner, studio):
    return accepted_film(client, owner, studio)


def line(label="Felt moon", quantity="1", price="100", tax="20") -> dict:
    return {
        "label": label, "quantity": D(quantity), "price": D(price), "tax_rate": D(tax),
    }  # fmt: skip


def drafted(client, *lines, title="Sketches", currency="EUR") -> Invoice:
    """A draft of lines of its own."""
    draft = services.start_invoice(client, title)
    draft.currency = currency
    draft.save()
    return services.save_invoice(draft, draft.version, {"title": title}, lines or [line()])


def issue(draft, studio, on=TODAY, today=TODAY) -> Invoice:
    issued = services.issue_invoice(draft, on, studio, today)
    return queries.invoice_with_parts(issued.pk)


def totals(invoice):
    return queries.sum_as_issued(invoice.issued).totals


def text_of(invoice) -> str:
    """What the PDF says."""
    pages = PdfReader(io.BytesIO(bytes(invoice.issued.pdf))).pages
    return "\n".join(page.extract_text() for page in pages)


def of_the_plan(film, *places) -> Invoice:
    """A draft for these parts of the payment plan."""
    quote = quote_of(film)
    payments = [list(quote.payments.all())[place] for place in places]
    return services.start_part_invoice(quote, payments, [])


def changed(film, studio, *lines) -> None:
    """An accepted change order of lines alone."""
    order = changes.start_change_order(quote_of(film), "A change")
    for label, amount, tax in lines:
        changes.add_line(order, {"label": label, "amount": D(amount), "tax_rate": D(tax)})
    sent = changes.send_change_order(order, studio, NOW, TODAY)
    changes.accept_change_order(sent, "Noor Haddad", NOW, TODAY)
    return sent


def test_issuing_numbers_dates_freezes_and_keeps_the_pdf(client, studio):
    issued = issue(drafted(client), studio)
    assert (issued.reference, issued.status) == ("2026-001", "issued")
    assert (issued.issued_on, issued.due_on) == (date(2026, 3, 2), date(2026, 3, 16))
    for words in ("2026-001", "Felt moon", "120.00", "16 March 2026", "Żółć & Ωmega 工房"):
        assert words in text_of(issued)


@pytest.mark.parametrize(
    ("price", "tax"),
    [
        # EN 16931 BR-CO-17 (verified): tax on the sum of a rate, not line by line.
        ("0.99", "0.59"),  # per line it would be 0.60
        ("1.12", "0.67"),  # per line it would be 0.66
    ],
)
def test_tax_is_taken_of_the_sum_of_a_rate(client, studio, price, tax):
    sums = totals(issue(drafted(client, *[line(price=price)] * 3), studio))
    assert str(sums.tax) == tax
    assert sums.lines == sum(one.base for one in sums.taxes)  # BR-CO-10 (verified)
    assert sums.gross == sums.net + sums.tax  # BR-CO-15 (verified)


def test_several_rates_round_half_a_cent_each_on_its_own(client, studio):
    # 0.10 at 5 % and 0.05 at 10 % are 0.005 each; half-up 0.01 (Python documentation, decimal)
    rows = [line(price="0.10", tax="5"), line(price="0.05", tax="10"), line(price="1", tax="0")]
    sums = totals(issue(drafted(client, *rows), studio))
    assert [(part.rate, part.tax) for part in sums.taxes] == [
        (D(10), D("0.01")), (D(5), D("0.01")), (D(0), D("0.00")),
    ]  # fmt: skip
    assert sums.gross == D("1.17")


@pytest.mark.parametrize(
    ("currency", "price", "gross"), [("JPY", "333", "366"), ("KWD", "99.999", "109.999")]
)
def test_an_invoice_keeps_the_coins_of_its_currency(client, studio, currency, price, gross):
    # ISO 4217: 0 and 3 decimals (verified in a packaged list)
    draft = drafted(client, line(price=price, tax="10"), currency=currency)
    assert str(totals(issue(draft, studio)).gross) == gross


def test_a_price_finer_than_the_coins_prints_as_it_is_multiplied(client, studio):
    issued = issue(drafted(client, line(quantity="3", price="1.005")), studio)
    (row,) = queries.issued_paper(issued).lines
    # 3 × 1.005 is 3.015, half-up 3.02 (computed)
    assert (row.detail, row.amount) == ("3 × €1.005, tax 20 %", "€3.02")


def test_the_invoices_of_a_plan_add_up_to_what_was_agreed(film, studio):
    whole = change_orders.accepted_offer(quote_of(film)).priced.totals
    parts = [totals(issue(of_the_plan(film, place), studio)) for place in range(3)]
    assert sum(one.gross for one in parts) == whole.gross
    assert sum(one.tax for one in parts) == whole.tax
    assert production_money(film, TODAY).left == 0


def test_a_part_is_invoiced_once(film, studio):
    of_the_plan(film, 0)
    with pytest.raises(NotPossible, match="stands on Draft invoice"):
        of_the_plan(film, 0)
    with pytest.raises(NotPossible, match="at least one part"):
        of_the_plan(film)


@pytest.mark.django_db(transaction=True)
def test_a_part_invoiced_twice_at_the_same_moment_stands_on_one_invoice(film):
    answers = at_the_same_moment(lambda: of_the_plan(film, 0), lambda: of_the_plan(film, 0))
    assert sum(isinstance(one, NotPossible) for one in answers) == 1
    assert Invoice.objects.count() == 1


def test_an_accepted_change_is_invoiced_with_its_own_tax(film, studio):
    sent = changed(film, studio, ("A hen", "400", "10"))
    draft = services.start_part_invoice(quote_of(film), [], [sent])
    issued = issue(draft, studio)
    assert (totals(issued).net, totals(issued).tax) == (D("400.00"), D("40.00"))
    assert issued.title == "The Felt Fox: Change order 2026-001-1"


def test_a_change_that_lowers_the_price_goes_on_an_invoice_with_another_part(film, studio):
    sent = changed(film, studio, ("Rebate", "-100", "20"))
    quote = quote_of(film)
    alone = services.start_part_invoice(quote, [], [sent])
    with pytest.raises(NotPossible, match="Money goes back to a client by a credit note"):
        issue(alone, studio)
    services.archive_invoice(alone, NOW)
    first = quote.payments.first()
    together = issue(services.start_part_invoice(quote, [first], [sent]), studio)
    plan = change_orders.accepted_offer(quote).payments[0]
    assert totals(together).gross == plan - D("120.00")


def test_own_lines_stand_beside_a_part(film, studio):
    draft = of_the_plan(film, 0)
    services.save_invoice(draft, draft.version, {}, [line("Courier", "1", "10", "20")])
    plan = change_orders.accepted_offer(quote_of(film)).payments[0]
    assert totals(issue(draft, studio)).gross == plan + D("12.00")


def test_an_issued_invoice_does_not_change(client, studio, owner_client):
    issued = issue(drafted(client), studio)
    for act in (
        lambda: services.save_invoice(issued, issued.version, {"title": "X"}, []),
        lambda: issue(issued, studio),
        lambda: services.archive_invoice(issued, NOW),
    ):
        with pytest.raises(NotPossible, match="was issued: it stays as it is"):
            act()
    with pytest.raises(IntegrityError), transaction.atomic():
        Invoice.objects.update(archived_at=NOW)
    before = bytes(issued.issued.pdf)
    Studio.objects.update(name="Another name")
    client.name = "Another client"
    client.save()
    owner_client.post(reverse("clients:invoice", args=[issued.pk]), {"title": "X"})
    assert bytes(IssuedInvoice.objects.get().pdf) == before
    assert "Lamplight Table" in queries.issued_paper(issued).sender.name


def test_two_editors_of_a_draft_are_told(client):
    draft = drafted(client)
    services.save_invoice(draft, draft.version, {"title": "One"}, [])
    with pytest.raises(EditedMeanwhile):
        services.save_invoice(draft, draft.version, {"title": "Two"}, [])


def test_an_empty_invoice_is_not_issued(client, studio):
    draft = services.start_invoice(client, "Nothing yet")
    with pytest.raises(NotPossible, match="has no lines"):
        issue(draft, studio)
    assert not Invoice.objects.issued().exists()


def test_an_invoice_beyond_what_can_be_kept_is_not_issued(client, studio):
    draft = drafted(client, line(quantity="99999999", price="99999999999"))
    with pytest.raises(NotPossible, match="or less"):
        issue(draft, studio)


@pytest.mark.parametrize(
    ("on", "sentence"),
    [
        (date(2026, 3, 3), "not here yet"),
        (date(2026, 2, 27), "cannot have an earlier date"),
        (date(2025, 12, 31), "cannot have an earlier date"),
    ],
)
def test_a_date_out_of_order_is_refused_at_its_entry(client, studio, on, sentence):
    issue(drafted(client), studio, on=date(2026, 2, 28))
    with pytest.raises(NotPossible, match=sentence) as refused:
        issue(drafted(client), studio, on=on)
    assert refused.value.field == "issued_on"


def test_a_first_date_years_back_is_refused(client, studio):
    with pytest.raises(NotPossible, match="more than a year ago"):
        issue(drafted(client), studio, on=date(2020, 1, 1))


def test_numbers_begin_anew_each_year(client, studio):
    issue(drafted(client), studio, on=date(2025, 12, 30))
    assert issue(drafted(client), studio).reference == "2026-001"


def test_numbers_have_no_gaps_even_where_an_issue_is_refused(client, studio):
    issue(drafted(client), studio)
    with pytest.raises(NotPossible):
        issue(services.start_invoice(client, "Nothing yet"), studio)
    assert issue(drafted(client), studio).number == 2


@pytest.mark.django_db(transaction=True)
def test_twenty_invoices_at_the_same_moment_are_numbered_without_gap_or_double(client, studio):
    drafts = [drafted(client, title=f"Film {n}") for n in range(20)]
    answers = at_the_same_moment(*(lambda one=one: issue(one, studio) for one in drafts))
    assert not [one for one in answers if isinstance(one, NotPossible)]
    assert sorted(Invoice.objects.values_list("number", flat=True)) == list(range(1, 21))


@pytest.mark.django_db(transaction=True)
def test_one_draft_issued_twice_at_the_same_moment_gets_one_number(client, studio):
    draft = drafted(client)
    answers = at_the_same_moment(*[lambda: issue(draft, studio)] * 4)
    assert sum(isinstance(one, NotPossible) for one in answers) == 3
    assert Invoice.objects.get().number == 1


# Credit notes


@pytest.fixture
def issued(client, studio):
    """An invoice of 120.00, 20.00 of it tax."""
    return issue(drafted(client), studio)


def test_a_credit_note_takes_the_next_number_and_names_its_invoice(issued, studio):
    note = issue(services.start_credit(issued, None, "Wrong client"), studio)
    assert (note.reference, note.kind) == ("2026-002", "credit")
    assert totals(note).gross == D("120.00")
    text = PdfReader(io.BytesIO(bytes(note.issued.pdf))).pages[0].extract_text()
    for words in ("Credit note 2026-002", "2026-001", "Wrong client"):
        assert words in text
    row = queries.row_of(queries.invoice_with_parts(issued.pk), TODAY)
    assert (row.words, row.state) == ("credited", "settled")


def test_credits_in_parts_stop_at_what_is_left(issued, studio):
    issue(services.start_credit(issued, D("50"), "Less felt"), studio)
    with pytest.raises(NotPossible, match=r"more than the 70\.00") as refused:
        services.start_credit(issued, D("70.01"), "Too much")
    assert refused.value.field == "amount"
    rest = issue(services.start_credit(issued, None, "All of it"), studio)
    assert totals(rest).gross == D("70.00")
    with pytest.raises(NotPossible, match="above 0"):
        services.start_credit(issued, None, "Again")


@pytest.mark.parametrize("amount", ["0", "-1", "0.001", "1e11", "NaN"])
def test_a_credit_that_cannot_be_is_refused_at_its_entry(issued, amount):
    with pytest.raises(NotPossible) as refused:
        services.start_credit(issued, D(amount), "Wrong")
    assert refused.value.field == "amount"
    assert Invoice.objects.count() == 1


@pytest.mark.parametrize("amount", ["0", "-1", "10.005", "120.01"])
def test_a_credit_draft_is_not_saved_with_a_sum_that_cannot_be(issued, owner_client, amount):
    note = services.start_credit(issued, D("50"), "Wrong")
    said = {
        "credit_amount": amount, "reason": "Wrong", "title": "Sketches", "language": "en_GB",
        "read_version": "1",
    }  # fmt: skip
    page = owner_client.post(reverse("clients:invoice", args=[note.pk]), said)
    assert page.status_code == 422
    assert page.context["form"].errors["credit_amount"]
    assert Invoice.objects.get(pk=note.pk).credit_amount == 50


def test_two_credit_drafts_do_not_credit_more_than_there_is(issued, studio):
    first, second = (services.start_credit(issued, D("100"), "Wrong") for _ in range(2))
    issue(first, studio)
    with pytest.raises(NotPossible, match=r"more than the 20\.00"):
        issue(second, studio)


def test_only_an_issued_invoice_is_credited(client, issued, studio):
    for wrong in (drafted(client), services.start_credit(issued, None, "Wrong")):
        with pytest.raises(NotPossible, match="cannot be credited"):
            services.start_credit(wrong, None, "Wrong")


def test_parts_of_an_invoice_credited_whole_can_be_invoiced_again(film, studio):
    first = issue(of_the_plan(film, 0), studio)
    issue(services.start_credit(first, D("1.00"), "A little"), studio)
    with pytest.raises(NotPossible, match="already"):
        of_the_plan(film, 0)
    issue(services.start_credit(first, None, "Wrong address"), studio)
    assert issue(of_the_plan(film, 0), studio).number == 4


def test_a_draft_put_aside_lets_its_parts_go_and_comes_back_only_if_they_are_free(film):
    draft = of_the_plan(film, 0)
    services.archive_invoice(draft, NOW)
    other = of_the_plan(film, 0)
    with pytest.raises(NotPossible, match="already"):
        services.restore_invoice(draft)
    services.archive_invoice(other, NOW)
    services.restore_invoice(draft)
    assert queries.invoice_with_parts(draft.pk).archived_at is None


# The accountant, the pages


def test_the_accountants_list_has_every_paper_in_order_and_no_formula(client, studio, owner_client):
    client.name = '=HYPERLINK("evil")'
    client.save()
    first = issue(drafted(client, line(), line(tax="5", price="10")), studio)
    issue(services.start_credit(first, D("12"), "Less"), studio)
    issue(drafted(client), studio)
    answer = owner_client.get(reverse("clients:invoices_csv") + "?year=2026")
    assert answer.headers["Content-Type"].startswith("text/csv")
    text = answer.content.decode("utf-8")
    assert text.startswith("\ufeffnumber,")
    rows = list(csv.reader(io.StringIO(text[1:], newline="")))
    assert [row[:2] for row in rows[1:]] == [
        ["2026-001", "invoice"], ["2026-001", "invoice"],
        ["2026-002", "credit note"], ["2026-002", "credit note"],
        ["2026-003", "invoice"],
    ]  # fmt: skip
    # OWASP, CSV injection (from memory): no cell starts a formula.
    assert all(row[4] == '\'=HYPERLINK("evil")' for row in rows[1:])
    credit = sum(D(row[9]) for row in rows[3:5])
    assert credit == D("-12.00")
    assert (
        owner_client.get(reverse("clients:invoices_csv") + "?year=2020").content.count(b"\n") == 1
    )


def test_the_list_filters_by_state_and_year_and_says_what_is_owed(client, studio, owner_client):
    issue(drafted(client, title="Last year"), studio, on=date(2025, 12, 30))
    issue(drafted(client, title="This year"), studio)
    drafted(client, title="In hand")
    page = lambda query: owner_client.get(f"/invoices/{query}").content.decode()  # noqa: E731
    assert "€240.00" in page("")
    assert "Last year" in page("?state=overdue&year=2025")
    assert "This year" not in page("?state=overdue&year=2025")
    assert "In hand" in page("?state=draft")
    assert "This year" not in page("?state=draft")
    assert "None of that kind" in page("?state=settled")
    assert "This year" in page("?state=nonsense&year=x")


def test_empty_pages_say_what_to_do(studio, owner_client):
    assert "No invoice yet" in owner_client.get("/invoices/").content.decode()
    film = factories.ProductionFactory()
    page = owner_client.get(f"/productions/{film.code}/money/").content.decode()
    assert "No quote stands behind this production" in page


def test_an_invoice_from_nothing_to_its_number_in_the_pages(client, studio, owner_client):
    said = {"client": client.pk, "title": "Sketches"}
    draft = owner_client.post("/invoices/new/", said, follow=True).context["invoice"]
    at = lambda name: reverse(f"clients:{name}", args=[draft.pk])  # noqa: E731
    words = {
        "title": "Sketches", "terms_days": "7", "language": "de_DE", "read_version": "1",
        "line-TOTAL_FORMS": "2", "line-INITIAL_FORMS": "0", "line-0-label": "Moon",
        "line-0-quantity": "2", "line-0-price": "12.345", "line-0-tax_rate": "19",
    }  # fmt: skip
    wrong = owner_client.post(at("invoice"), words | {"line-0-price": "-1"})
    assert wrong.status_code == 422
    assert "The price of “Moon” is -1" in wrong.content.decode()
    assert owner_client.post(at("invoice"), words).status_code == 302
    assert owner_client.get(at("invoice_paper")).content.startswith(b"%PDF")
    stale = owner_client.post(at("invoice"), words | {"title": "Mine"})
    assert stale.status_code == 409
    late = owner_client.post(at("invoice_issue"), {"issued_on": "2999-01-01"})
    assert late.status_code == 422
    assert "not here yet" in late.content.decode()
    today = Studio.objects.get().today(datetime.now(UTC))
    owner_client.post(at("invoice_issue"), {"issued_on": today.isoformat()})
    page = owner_client.get(at("invoice")).content.decode()
    assert "24,69\xa0€" in page  # 2 × 12.345, in German
    assert "local tax law" in page


def test_ticked_parts_become_a_draft(film, owner_client):
    at = reverse("clients:money_invoice_parts", args=[film.code])
    assert owner_client.post(at, {"part": ["payment:x", "y"]}).status_code == 302
    assert not Invoice.objects.exists()
    first = Quote.objects.get().payments.first()
    owner_client.post(at, {"part": [f"payment:{first.pk}"]})
    assert Invoice.objects.get().parts.get().payment == first
    page = owner_client.get(f"/productions/{film.code}/money/").content.decode()
    assert "Draft invoice" in page


def test_a_plan_is_not_invoiced_from_another_films_parts(film, client, owner, studio, owner_client):
    other = accepted_film(client, owner, studio, title="Other")
    part = quote_of(other).payments.first()
    at = reverse("clients:money_invoice_parts", args=[film.code])
    owner_client.post(at, {"part": [f"payment:{part.pk}"]})
    assert not Invoice.objects.exists()


def test_money_is_never_on_a_crew_page(film, studio, crew_client):
    issue(of_the_plan(film, 0), studio)
    gross = "€" + f"{totals(Invoice.objects.get()).gross:,}"
    for at in ("/", f"/productions/{film.code}/", f"/productions/{film.code}/shots/"):
        page = crew_client.get(at).content.decode()
        assert "Money" not in page
        assert gross not in page
    assert crew_client.get(f"/productions/{film.code}/money/").status_code == 403


@pytest.mark.parametrize("at", ["/", "/invoices/", "/productions/{}/money/", "/invoices/{}/"])
def test_pages_ask_the_same_of_the_database_for_one_and_for_many(
    film, client, studio, owner_client, at
):
    def one_more(place):
        issued = issue(of_the_plan(film, place), studio, on=date(2026, 3, 2))
        services.note_payment(issued, D("1.00"), TODAY, "", TODAY)
        issue(services.start_credit(issued, D("1.00"), "A little"), studio)
        return issued

    first = one_more(0)
    sent = changed(film, studio, ("A hen", "400", "10"))
    address = at.format(film.code if "money" in at else first.pk)
    owner_client.get(address)
    with CaptureQueriesContext(connection) as one:
        owner_client.get(address)
    one_more(1)
    services.start_part_invoice(quote_of(film), [], [sent])
    for number in range(6):
        changed(film, studio, (f"Hen {number}", "40", "10"))
        issued = issue(drafted(client, title=f"Film {number}"), studio)
        Invoice.objects.filter(pk=issued.pk).update(production=film)
        drafted(client, title="In hand")
    with CaptureQueriesContext(connection) as many:
        assert owner_client.get(address).status_code == 200
    assert len(one) == len(many) <= 25


@pytest.mark.parametrize(("days", "said"), [(0, False), (1, True)])
def test_an_overdue_invoice_is_said_on_today_to_the_owner_only(
    issued, owner_client, crew_client, days, said
):
    today = Studio.objects.get().today(datetime.now(UTC))
    Invoice.objects.update(due_on=today - timedelta(days=days))
    assert ("€120.00 were due on" in owner_client.get("/").content.decode()) is said
    assert "Invoice 2026-001" not in crew_client.get("/").content.decode()


@pytest.mark.parametrize("currency", ["EUR", "JPY", "KWD"])
def test_today_does_not_read_what_was_paid_or_credited_in_full(client, studio, currency):
    paid, credited, partly, open_ = (
        issue(drafted(client, title=title, currency=currency), studio, on=date(2026, 3, 2))
        for title in ("Paid", "Credited", "Partly", "Open")
    )
    owed = queries.row_of(queries.invoice_with_parts(paid.pk), TODAY).stands.outstanding
    services.note_payment(paid, owed, TODAY, "", TODAY)
    issue(services.start_credit(credited, None, "Not wanted"), studio)
    coin = {"EUR": D("0.01"), "JPY": D(1), "KWD": D("0.001")}[currency]  # ISO 4217 minor units
    services.note_payment(partly, owed - coin, TODAY, "", TODAY)
    issued = queries.invoices_with_figures().filter(due_on__isnull=False)
    assert set(queries.not_settled(issued)) == {partly, open_}


def test_the_list_finds_by_state_what_each_row_says(client, studio):
    paid, late, too_much, credited = (
        issue(drafted(client, title=title), studio, on=date(2026, 3, 2))
        for title in ("Paid", "Late", "Too much", "Credited")
    )
    drafted(client, title="Draft")
    owed = queries.row_of(queries.invoice_with_parts(paid.pk), TODAY).stands.outstanding
    services.note_payment(paid, owed, TODAY, "", TODAY)
    services.note_payment(too_much, owed, TODAY, "", TODAY)
    issue(services.start_credit(too_much, D("1.00"), "A little"), studio)
    issue(services.start_credit(credited, None, "Not wanted"), studio)
    day = late.due_on + timedelta(days=3)
    whole = queries.invoice_list("", None, None, day).rows
    assert len(whole) == 7
    assert whole[0].words == "draft"
    for state in filter(None, queries.STATES):
        found = queries.invoice_list(state, None, None, day).rows
        assert found == tuple(row for row in whole if row.state == state)
        assert found
    in_time = queries.invoice_list("open", None, None, late.due_on).rows
    assert {row.invoice for row in in_time} == {late, too_much}


def test_invoices_come_twenty_at_a_time_with_what_is_owed_in_all(client, studio, owner_client):
    for _ in range(21):
        issue(drafted(client), studio, on=date(2026, 3, 2))
    first, second = (queries.invoice_list("", 2026, page, date(2026, 3, 2)) for page in "12")
    assert [row.invoice.number for row in first.rows] == list(range(21, 1, -1))
    assert [row.invoice.number for row in second.rows] == [1]
    (owed,) = second.owed
    assert owed.outstanding == 21 * second.rows[0].gross
    page = owner_client.get("/invoices/?state=&year=2026").content.decode()
    assert 'href="?state=&amp;year=2026&amp;page=2">Older<' in page


# EN 16931: BT-31 and BT-32 are the seller's tax numbers, BT-84 the account to pay into.


def with_papers(studio) -> Studio:
    Studio.objects.update(
        address="3 Mill Lane", tax_number="PL 000 111", payment_account="Account 000 111 222"
    )
    return Studio.objects.get(pk=studio.pk)


def test_the_studios_tax_number_and_account_stand_on_the_invoice_as_issued(client, studio):
    issued = issue(drafted(client), with_papers(studio))
    Studio.objects.update(tax_number="PL 999", payment_account="Account 999")
    paper = queries.issued_paper(queries.invoice_with_parts(issued.pk))
    assert paper.sender.lines == ("3 Mill Lane", "Tax number PL 000 111")
    assert paper.how_to_pay[0] == "Account 000 111 222"
    words = text_of(issued)
    assert "Tax number PL 000 111" in words
    assert "Account 000 111 222" in words
    assert "999" not in words


def test_a_credit_note_carries_the_tax_number_and_no_account_to_pay_into(client, studio):
    studio = with_papers(studio)
    note = issue(services.start_credit(issue(drafted(client), studio), None, "Wrong"), studio)
    assert "Tax number PL 000 111" in text_of(note)
    assert "Account 000 111 222" not in text_of(note)


def test_a_draft_says_what_is_not_on_it_yet(client, owner_client, studio):
    at = reverse("clients:invoice", args=[drafted(client).pk])
    page = owner_client.get(at).content.decode()
    assert "Not on it yet: your address, your tax number, the client’s address, an account" in page
    with_papers(studio)
    client.address = "1 Clay Street"
    client.save()
    assert "Not on it yet" not in owner_client.get(at).content.decode()


def test_a_change_paid_with_a_part_of_the_plan_goes_on_its_invoice(film, studio):
    quote = quote_of(film)
    lock = list(quote.payments.all())[1]
    order = changes.start_change_order(quote, "A hen")
    changes.save_details(order, order.version, {"paid_with": lock})
    changes.add_line(order, {"label": "A hen", "amount": D(400), "tax_rate": D(10)})
    sent = changes.send_change_order(order, studio, NOW, TODAY)
    assert sent.sent.paper["payment"] == lock.milestone
    changes.accept_change_order(sent, "Noor Haddad", NOW, TODAY)
    issued = issue(services.start_part_invoice(quote, [lock], []), studio)
    plan = change_orders.accepted_offer(quote).payments[1]
    assert totals(issued).gross == plan + D("440.00")
    assert not list(queries.changes_paid_with([lock]))


def test_a_change_not_accepted_yet_is_not_invoiced_with_its_part(film, studio):
    quote = quote_of(film)
    lock = list(quote.payments.all())[1]
    order = changes.start_change_order(quote, "A hen")
    changes.save_details(order, order.version, {"paid_with": lock})
    draft = services.start_part_invoice(quote, [lock], [])
    assert [part.payment for part in draft.parts.all()] == [lock]


def test_a_part_invoiced_already_takes_no_change_more(film):
    quote = quote_of(film)
    of_the_plan(film, 0)
    ahead = change_orders.parts_to_come(quote)
    assert [one.milestone for one in ahead] == [
        one.milestone for one in list(quote.payments.all())[1:]
    ]
