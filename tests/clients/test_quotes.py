"""A quote from draft to acceptance: what it says, what freezes, and who may answer it, once."""

import io
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.test import Client as Browser
from django.urls import reverse
from pypdf import PdfReader

from clients.forms.quote import Builder
from clients.models import Acceptance, ClientLink, Quote
from clients.queries import quotes as queries
from clients.services import quotes as services
from shots.models import Production
from shots.services.floor import lay_out_lists
from studio.errors import NotPossible
from tests import factories

NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)
TODAY = date(2026, 3, 2)


@pytest.fixture
def quote(studio):
    lay_out_lists(sender=None)
    client = factories.ClientFactory(name="Żółć & Ωmega 工房")
    quote = services.start_quote(client, "The Felt Fox")
    quote.first_day = date(2026, 4, 1)
    quote.save()
    return queries.quote_with_parts(quote.pk)


@pytest.fixture
def sent(quote, studio):
    return services.send_quote(quote, studio, NOW, TODAY)


def builder_data(quote, **changes) -> dict:
    """What the builder page would post for a quote as it stands."""
    builder = Builder(quote)
    data = {}
    for part in [builder.form, *builder.parts]:
        if hasattr(part, "management_form"):
            data |= {
                part.management_form.add_prefix(name): value
                for name, value in part.management_form.initial.items()
            }
        for form in getattr(part, "forms", [part]):
            for bound in form:
                value = bound.value()
                if value is not None and value is not False:
                    data[bound.html_name] = "on" if value is True else value
    return data | changes


def test_a_first_quote_is_priced_from_the_assumed_pace(quote, studio):
    priced = queries.price_quote(quote, studio, TODAY)
    (offer,) = priced.offers
    # 30 s at 24 on twos (360 pictures) of the first difficulty, easy, at 20 an hour.
    assert offer.priced.work.pictures == 360
    assert offer.priced.days.chosen >= offer.priced.days.even >= 3
    assert offer.priced.totals.gross == 300 * offer.priced.days.chosen
    assert "nothing measured yet" in priced.evidence.paces[0].words


def test_measured_sessions_move_the_pace(quote, studio):
    film = factories.ProductionFactory(stage="delivered")
    easy = film.shots.model(
        production=film,
        code="A1",
        difficulty=quote.options.first().sequences.first().difficulty,
        screen_frames=800,
        status="shot",
    )
    easy.save()
    session = factories.SessionFactory(production=film)
    factories.SessionShotFactory(session=session, shot=easy, kept=400)
    pace = queries.evidence(studio, None, TODAY).pace["easy"]
    # 400 pictures in 4 hours, with the assumed 20 an hour counted as 20 hours more.
    assert pace == Decimal("33.33")


def test_sending_numbers_freezes_and_keeps_the_pdf(sent):
    assert (sent.year, sent.number, sent.status) == (2026, 1, "sent")
    assert sent.valid_until == date(2026, 4, 1)
    text = "\n".join(
        page.extract_text() for page in PdfReader(io.BytesIO(bytes(sent.sent.pdf))).pages
    )
    assert "2026-001" in text
    assert "Żółć & Ωmega 工房" in text
    assert sent.sent.offers[0]["total"] in text


def test_numbers_have_no_gaps_even_where_a_send_is_refused(sent, studio):
    empty = services.start_quote(sent.client, "Nothing yet")
    empty.lines.all().delete()
    with pytest.raises(NotPossible, match="cannot be sent yet"):
        services.send_quote(empty, studio, NOW, TODAY)
    third = services.start_quote(sent.client, "Another")
    assert services.send_quote(third, studio, NOW, TODAY).number == 2


def test_a_sent_quote_does_not_change(sent, owner_client):
    assert owner_client.post(reverse("clients:quote", args=[sent.pk]), {"title": "X"}).status_code
    assert Quote.objects.get(pk=sent.pk).title == "The Felt Fox"
    with pytest.raises(NotPossible, match="sent already"):
        services.send_quote(sent, factories.Studio.objects.get(), NOW, TODAY)


def test_a_revision_keeps_the_number_and_closes_the_one_before(sent, studio):
    revision = services.revise_quote(sent)
    assert (revision.number, revision.revision, revision.status) == (1, 2, "draft")
    with pytest.raises(NotPossible, match="exists already"):
        services.revise_quote(sent)
    unchanged = queries.compared(queries.quote_with_parts(revision.pk), studio, TODAY)
    assert unchanged.lines == ()
    assert unchanged.sequences == ()
    services.send_quote(revision, studio, NOW, TODAY)
    assert Quote.objects.get(pk=sent.pk).status == "lapsed"


def test_acceptance_opens_the_production_as_quoted(sent, studio):
    option = sent.options.first()
    production = services.accept_quote(sent, option, "Noor Haddad", studio, NOW, TODAY)
    shot = production.shots.get()
    assert production.code == "THEFELTF"
    assert production.stage == "running"
    assert production.contracted_frames == 720
    assert production.commission.client == sent.client
    assert production.deadline.isoformat() == sent.sent.offers[0]["finish"]
    assert (shot.screen_frames, shot.agreed_pictures, shot.setup.code) == (720, 360, "S01")
    accepted = Acceptance.objects.get()
    assert (accepted.name, accepted.sha256) == ("Noor Haddad", sent.sent.sha256)


def test_accepted_twice_once_wins_and_the_other_is_told(sent, studio):
    option = sent.options.first()
    services.accept_quote(sent, option, "First", studio, NOW, TODAY)
    with pytest.raises(NotPossible, match="accepted already"):
        services.accept_quote(sent, option, "Second", studio, NOW, TODAY)
    assert Production.objects.count() == 1
    assert Acceptance.objects.get().name == "First"


@pytest.mark.parametrize(
    ("status", "today", "sentence"),
    [
        ("declined", TODAY, "is declined"),
        ("sent", TODAY + timedelta(days=31), "not valid any more"),
    ],
)
def test_a_quote_that_is_closed_cannot_be_accepted(sent, studio, status, today, sentence):
    Quote.objects.filter(pk=sent.pk).update(status=status)
    with pytest.raises(NotPossible, match=sentence):
        services.accept_quote(sent, sent.options.first(), "Late", studio, NOW, today)
    assert not Production.objects.exists()


def test_the_client_reads_and_accepts_through_the_link_without_an_account(sent):
    token = services.make_link(sent, datetime.now(UTC))
    Quote.objects.filter(pk=sent.pk).update(valid_until=date(2099, 1, 1))
    address = reverse("clients:client_quote", args=[token])
    browser = Browser()
    page = browser.get(address)
    assert page.status_code == 200
    assert "no-store" in page.headers["Cache-Control"]
    assert browser.get(f"{address}quote.pdf").content.startswith(b"%PDF")
    assert ClientLink.objects.get().token_hash != token
    refused = browser.post(address, {"option": sent.options.first().pk, "name": ""})
    assert refused.status_code == 422
    answer = {"option": sent.options.first().pk, "name": "Noor Haddad", "agreed": "on"}
    browser.post(address, answer)
    accepted = Acceptance.objects.get()
    assert accepted.by_link == ClientLink.objects.get()
    again = browser.post(address, answer | {"name": "Somebody else"})
    assert again.status_code == 422
    assert Acceptance.objects.get().name == "Noor Haddad"


@pytest.mark.parametrize("closed", ["expired", "revoked", "altered"])
def test_a_closed_link_says_so_and_leaks_nothing(sent, closed):
    token = services.make_link(sent, datetime.now(UTC))
    if closed == "expired":
        ClientLink.objects.update(expires_at=datetime.now(UTC) - timedelta(seconds=1))
    if closed == "revoked":
        services.revoke_link(ClientLink.objects.get(), datetime.now(UTC))
    if closed == "altered":
        token = token[:-1] + ("A" if token[-1] != "A" else "B")
    for name in ("client_quote", "client_quote_pdf"):
        page = Browser().get(reverse(f"clients:{name}", args=[token]))
        assert page.status_code == 404
        assert "opens nothing any more" in page.content.decode()
        assert "Felt Fox" not in page.content.decode()


def test_a_draft_has_no_link(quote):
    with pytest.raises(NotPossible, match="Send the quote first"):
        services.make_link(quote, NOW)


def test_the_builder_saves_what_is_typed(quote, owner_client):
    data = builder_data(quote, title="The Felt Fox, longer")
    sequence = quote.options.first().sequences.first()
    prefix = f"sequence{sequence.option_id}-0"
    response = owner_client.post(
        reverse("clients:quote", args=[quote.pk]), data | {f"{prefix}-seconds": "45"}
    )
    assert response.status_code == 302
    sequence.refresh_from_db()
    assert sequence.seconds == 45
    assert Quote.objects.get().title == "The Felt Fox, longer"


def test_a_second_editor_is_told_and_nothing_is_lost(quote, owner_client):
    data = builder_data(quote, title="Mine")
    owner_client.post(reverse("clients:quote", args=[quote.pk]), data | {"title": "Theirs"})
    late = owner_client.post(reverse("clients:quote", args=[quote.pk]), data)
    assert late.status_code == 409
    assert "Theirs" in late.content.decode()
    assert Quote.objects.get().title == "Theirs"


def test_the_price_follows_what_is_typed_and_saves_nothing(quote, owner_client):
    sequence = quote.options.first().sequences.first()
    data = builder_data(quote, **{f"sequence{sequence.option_id}-0-exposure": "1"})
    page = owner_client.post(
        reverse("clients:quote_price", args=[quote.pk]), data, headers={"HX-Request": "true"}
    )
    assert "720" in page.content.decode()  # pictures: 30 s at 24 on ones
    sequence.refresh_from_db()
    assert sequence.exposure == 2


@pytest.mark.parametrize(
    ("part", "value", "sentence"),
    [
        ("line-0-rate", "0", "enter a number above 0"),
        ("line-0-rate", "-5", "enter a number above 0"),
        ("line-0-tax_rate", "101", "enter 100 or less"),
        ("line-2-rate", "-1", "enter 0 or more"),
        ("payment-0-percent", "140", "enter 100 or less"),
        ("payment-0-percent", "-1", "enter a number above 0"),
        ("sequence-0-seconds", "0", "enter a number above 0"),
        ("sequence-0-held_seconds", "500", "lower them or lengthen the shot"),
        ("option-0-rate", "1/0", "0"),
        ("currency", "XYZ", "XYZ"),
    ],
)
def test_what_cannot_be_priced_is_refused_at_its_field(quote, owner_client, part, value, sentence):
    part = part.replace("sequence-", f"sequence{quote.options.first().pk}-")
    response = owner_client.post(
        reverse("clients:quote", args=[quote.pk]), builder_data(quote, **{part: value})
    )
    page = response.content.decode()
    assert response.status_code == 422
    assert sentence in page


def test_a_discount_larger_than_the_sum_is_said_beside_the_price(quote, studio):
    quote.lines.create(
        label="Friends", kind="discount", basis="fixed", rate=10_000_000, position=99
    )
    priced = queries.price_quote(queries.quote_with_parts(quote.pk), studio, TODAY)
    assert "Friends" in priced.refusal


@pytest.mark.parametrize(("currency", "decimals"), [("JPY", 0), ("EUR", 2), ("KWD", 3)])
def test_totals_have_the_currencys_own_decimals(quote, studio, currency, decimals):
    # ISO 4217: yen has no minor unit, euro two digits, Kuwaiti dinar three.
    Quote.objects.update(currency=currency)
    priced = queries.price_quote(queries.quote_with_parts(quote.pk), studio, TODAY)
    assert -priced.offers[0].priced.totals.gross.as_tuple().exponent == decimals


def test_a_budget_nothing_fits_says_what_the_cheapest_second_costs(quote, owner_client):
    page = owner_client.get(reverse("clients:quote_fits", args=[quote.pk]), {"budget": "1"})
    assert page.status_code == 422
    assert "Nothing fits 1 EUR" in page.content.decode()


def test_an_option_is_added_as_a_copy_and_the_last_one_stays(quote, owner_client):
    owner_client.post(reverse("clients:option_add", args=[quote.pk]))
    assert Quote.objects.get().options.count() == 2
    second = Quote.objects.get().options.last()
    assert second.sequences.count() == 1
    owner_client.post(reverse("clients:option_drop", args=[quote.pk, second.pk]))
    owner_client.post(reverse("clients:option_drop", args=[quote.pk, quote.options.first().pk]))
    assert Quote.objects.get().options.count() == 1


def test_a_copy_has_everything_and_no_number(sent):
    copy = services.start_quote(sent.client, "Copy", copy_of=queries.quote_with_parts(sent.pk))
    assert copy.number is None
    assert copy.lines.count() == sent.lines.count()
    assert copy.options.first().sequences.count() == 1


def test_the_list_shows_totals_and_asks_the_same_for_one_and_many(
    sent, studio, owner_client, django_assert_max_num_queries
):
    for number in range(12):
        more = services.start_quote(sent.client, f"Film {number}")
        services.send_quote(more, studio, NOW, TODAY)
    with django_assert_max_num_queries(6):
        page = owner_client.get(reverse("clients:quotes")).content.decode()
    assert sent.sent.offers[0]["total"] in page


@pytest.mark.parametrize(("days", "said"), [(0, True), (5, True), (6, False)])
def test_a_quote_about_to_lapse_is_said_on_today_to_the_owner_only(
    sent, owner_client, crew_client, days, said
):
    today = factories.Studio.objects.get().today(datetime.now(UTC))
    Quote.objects.filter(pk=sent.pk).update(valid_until=today + timedelta(days=days))
    assert ("ask for an answer" in owner_client.get("/").content.decode()) is said
    assert "Quote 2026" not in crew_client.get("/").content.decode()
