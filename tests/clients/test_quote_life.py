"""A quote from sending to acceptance: what freezes, and who may answer it, once."""

import io
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client as Browser
from django.urls import reverse
from pypdf import PdfReader

from clients.models import Acceptance, ClientLink, Quote, SentQuote
from clients.queries import quotes as queries
from clients.services import private_links, quote_drafts
from clients.services import quotes as services
from shots.models import Difficulty, Production, Setup
from studio.errors import NotPossible
from studio.models import Studio
from tests import factories
from tests.clients.at_once import at_the_same_moment
from tests.clients.quote_cast import (
    NOW,
    TODAY,
    builder_data,
    drafted,
    film,
    with_lists,
)


@pytest.fixture
def client(studio):
    return with_lists(factories.ClientFactory(name="Żółć & Ωmega 工房"))


@pytest.fixture
def quote(client, owner):
    return drafted(client, owner)


@pytest.fixture
def sent(quote, studio):
    return services.send_quote(quote, studio, NOW, TODAY)


def send(quote, studio):
    return services.send_quote(quote, studio, NOW, TODAY)


def accept(quote, name="Noor Haddad", today=TODAY):
    return services.accept_quote(quote, quote.options.first(), name, NOW, today)


def test_sending_numbers_freezes_and_keeps_the_pdf(sent):
    assert (sent.year, sent.number, sent.status) == (2026, 1, "sent")
    assert sent.valid_until == date(2026, 4, 1)
    text = "\n".join(
        page.extract_text() for page in PdfReader(io.BytesIO(bytes(sent.sent.pdf))).pages
    )
    assert "2026-001" in text
    assert "Żółć & Ωmega 工房" in text
    assert sent.sent.offers[0]["total"] in text


def test_numbers_have_no_gaps_even_where_a_send_is_refused(sent, client, owner, studio):
    empty = drafted(client, owner, title="Nothing yet")
    empty.lines.all().delete()
    with pytest.raises(NotPossible, match="cannot be sent yet"):
        send(empty, studio)
    assert send(drafted(client, owner, title="Another"), studio).number == 2


def test_numbers_begin_anew_each_year(sent, client, owner, studio):
    later = drafted(client, owner, title="Next year")
    later = services.send_quote(later, studio, NOW, date(2027, 1, 2))
    assert later.reference == "2027-001"


def test_what_was_sent_stays_whatever_is_measured_or_renamed_later(sent, studio):
    before = queries.offers_of(sent.sent)
    Difficulty.objects.filter(name="easy").update(pictures_per_hour=1)
    Quote.objects.filter(pk=sent.pk).update(currency="JPY")
    again = queries.offers_of(SentQuote.objects.get(quote=sent))
    assert again == before
    assert again[0].priced.totals.currency == "EUR"


def test_a_sent_quote_does_not_change(sent, studio, owner_client):
    data = builder_data(sent, title="X")
    owner_client.post(reverse("clients:quote", args=[sent.pk]), data)
    assert Quote.objects.get(pk=sent.pk).title == "The Felt Fox"
    with pytest.raises(NotPossible, match="sent already"):
        send(sent, studio)
    draft = queries.draft_of(queries.quote_with_parts(sent.pk))
    with pytest.raises(NotPossible, match="was sent meanwhile"):
        quote_drafts.save_draft(sent, sent.version, {"title": "X"}, draft, stood={})
    with pytest.raises(NotPossible, match="stays in sight"):
        services.archive_quote(sent, NOW)


def test_a_revision_keeps_the_number_and_closes_the_one_before(sent, studio):
    revision = services.revise_quote(sent)
    assert (revision.number, revision.revision, revision.status) == (1, 2, "draft")
    with pytest.raises(NotPossible, match="exists already"):
        services.revise_quote(sent)
    assert Quote.objects.get(pk=sent.pk).status == "sent"  # open until the next one is sent
    send(revision, studio)
    closed = Quote.objects.get(pk=sent.pk)
    assert (closed.status, closed.answer) == ("lapsed", "Replaced by the next revision.")


def test_a_revision_of_a_quote_accepted_meanwhile_is_not_sent(sent, studio):
    revision = services.revise_quote(sent)
    accept(sent)
    with pytest.raises(NotPossible, match="accepted meanwhile"):
        send(revision, studio)
    assert Quote.objects.get(pk=revision.pk).status == "draft"


def test_a_revision_without_a_change_differs_in_nothing(sent, studio):
    revision = send(services.revise_quote(sent), studio)
    (option,) = queries.compared(queries.offers_of(sent.sent), queries.offers_of(revision.sent))
    assert option.comparison.lines == ()
    assert option.comparison.sequences == ()
    assert option.comparison.totals.gross == 0


def test_revisions_are_compared_line_by_line(sent, studio, owner_client):
    revision = services.revise_quote(sent)
    data = builder_data(revision, **{"o0s0-seconds": "40", "l2-rate": "450"})
    assert owner_client.post(reverse("clients:quote", args=[revision.pk]), data).status_code == 302
    page = owner_client.get(reverse("clients:quote_compare", args=[revision.pk])).content.decode()
    assert "seconds: 30.000 → 40.000" in page
    assert "+120" in page  # pictures: 10 s more at 24 on twos
    assert "rate: 0.0000 → 450.0000" in page
    assert "€450.00" in page


def test_acceptance_opens_the_production_as_quoted(client, owner, studio):
    option = film(setups=3, held_seconds=Decimal(2), holds=1, reused_seconds=Decimal(1))
    sent = send(drafted(client, owner, option=option), studio)
    production = accept(sent)
    shots = list(production.shots.all())
    assert (production.code, production.stage) == ("THEFELTF", "running")
    assert (production.contracted_frames, production.exposure) == (720, 2)
    assert production.start == date(2026, 4, 1)
    assert production.commission.client == sent.client
    offer = queries.offers_of(sent.sent)[0]
    assert production.deadline == offer.finish
    days = production.quoted_days
    assert (days.even, days.promised, days.chance) == (
        offer.priced.days.even, offer.priced.days.chosen, 80,
    )  # fmt: skip
    paces = production.quoted_paces.all()
    assert [(one.difficulty.name, one.pictures, one.pictures_per_hour) for one in paces] == [
        ("easy", 325, 20)
    ]
    assert [shot.code for shot in shots] == ["010", "020", "030"]
    assert [shot.setup.code for shot in shots] == ["S01", "S02", "S03"]
    assert sum(shot.screen_frames for shot in shots) == 720
    # (720 - 48 - 24) / 2 moving, and one for the hold
    assert sum(shot.agreed_pictures for shot in shots) == 325
    accepted = Acceptance.objects.get()
    assert (accepted.name, accepted.sha256) == ("Noor Haddad", sent.sent.sha256)


def test_acceptance_uses_what_was_sent_even_if_it_could_not_be_priced_now(sent):
    sent.lines.all().delete()
    Difficulty.objects.filter(name="easy").update(name="calm")
    assert accept(sent).shots.get().agreed_pictures == 360


def test_an_option_of_another_quote_is_not_accepted(sent, client, owner, studio):
    other = send(drafted(client, owner, title="Other"), studio)
    with pytest.raises(NotPossible, match="not on this quote"):
        services.accept_quote(sent, other.options.first(), "Noor", NOW, TODAY)


def test_a_title_without_latin_letters_still_gets_a_code(client, owner, studio):
    first = accept(send(drafted(client, owner, title="工房"), studio))
    second = accept(send(drafted(client, owner, title="工房"), studio))
    assert (first.code, second.code) == ("FILM", "FILM-2")


def test_accepted_twice_once_wins_and_the_other_is_told(sent):
    accept(sent, "First")
    with pytest.raises(NotPossible, match="accepted already"):
        accept(sent, "Second")
    assert Production.objects.count() == 1
    assert Acceptance.objects.get().name == "First"


@pytest.mark.django_db(transaction=True)
def test_two_clients_at_the_same_moment_open_one_production(sent):
    answers = at_the_same_moment(
        lambda: accept(sent, "First"),
        lambda: accept(sent, "Second"),
        lambda: services.decline_quote(sent, NOW),
    )
    refused = [one for one in answers if isinstance(one, NotPossible)]
    assert len(refused) == 2
    assert Production.objects.count() == Acceptance.objects.count() <= 1


@pytest.mark.django_db(transaction=True)
def test_quotes_sent_at_the_same_moment_are_numbered_without_gap_or_double(client, owner, studio):
    drafts = [drafted(client, owner, title=f"Film {n}") for n in range(4)]
    at_the_same_moment(*(lambda one=one: send(one, studio) for one in drafts))
    assert sorted(Quote.objects.values_list("number", flat=True)) == [1, 2, 3, 4]


@pytest.mark.django_db(transaction=True)
def test_a_revision_and_an_acceptance_at_the_same_moment_do_not_both_hold(sent, studio):
    revision = services.revise_quote(sent)
    at_the_same_moment(lambda: accept(sent), lambda: send(revision, studio))
    standing = set(Quote.objects.values_list("status", flat=True))
    assert standing in ({"accepted", "draft"}, {"lapsed", "sent"})


def test_nothing_of_a_production_stays_where_the_acceptance_fails(sent, monkeypatch):
    def broken(*args, **kwargs):
        raise RuntimeError("the lamp went out")

    monkeypatch.setattr(Acceptance.objects, "create", broken)
    with pytest.raises(RuntimeError):
        accept(sent)
    assert not Production.objects.exists()
    assert not Setup.objects.exists()
    assert Quote.objects.get(pk=sent.pk).status == "sent"


@pytest.mark.parametrize(
    ("status", "today", "sentence"),
    [
        ("declined", TODAY, "is declined"),
        ("lapsed", TODAY, "not valid any more"),
        ("sent", TODAY + timedelta(days=31), "not valid any more"),
    ],
)
def test_a_quote_that_is_closed_cannot_be_accepted(sent, status, today, sentence):
    Quote.objects.filter(pk=sent.pk).update(status=status)
    with pytest.raises(NotPossible, match=sentence):
        accept(sent, "Late", today)
    assert not Production.objects.exists()


@pytest.fixture
def address(sent):
    """A private link of a quote that is valid for long."""
    token = services.make_link(sent, datetime.now(UTC))
    Quote.objects.filter(pk=sent.pk).update(valid_until=date(2099, 1, 1))
    return reverse("clients:client_quote", args=[token])


def test_the_client_reads_and_accepts_through_the_link_without_an_account(sent, address):
    browser = Browser()
    page = browser.get(address)
    assert page.status_code == 200
    assert "no-store" in page.headers["Cache-Control"]
    assert "noindex" in page.headers["X-Robots-Tag"]
    assert browser.get(f"{address}quote.pdf").content.startswith(b"%PDF")
    assert ClientLink.objects.get().token_hash not in address
    refused = browser.post(address, {"option": sent.options.first().pk, "name": ""})
    assert refused.status_code == 422
    answer = {"option": sent.options.first().pk, "name": "Noor Haddad", "agreed": "on"}
    browser.post(address, answer)
    accepted = Acceptance.objects.get()
    assert accepted.by_link == ClientLink.objects.get()
    again = browser.post(address, answer | {"name": "Somebody else"})
    assert again.status_code == 422
    assert "accepted already" in again.content.decode()
    assert Acceptance.objects.get().name == "Noor Haddad"


def test_the_client_declines_through_the_link_and_says_why(sent, address):
    page = Browser().post(address, {"act": "decline", "words": "Next spring"}, follow=True)
    assert "was declined" in page.content.decode()
    stands = Quote.objects.get(pk=sent.pk)
    assert (stands.status, stands.answer) == ("declined", "Next spring")


def test_the_link_never_shows_a_hidden_line(client, owner, studio):
    quote = drafted(client, owner)
    quote.lines.filter(kind="contingency").update(hidden=True, label="Secret reserve")
    sent = send(queries.quote_with_parts(quote.pk), studio)
    token = services.make_link(sent, datetime.now(UTC))
    page = Browser().get(reverse("clients:client_quote", args=[token])).content.decode()
    assert "Secret reserve" not in page
    assert "includes Animation" in page


@pytest.mark.parametrize("closed", ["expired", "revoked", "altered"])
def test_a_closed_link_says_so_and_leaks_nothing(sent, closed):
    token = services.make_link(sent, datetime.now(UTC))
    if closed == "expired":
        ClientLink.objects.update(expires_at=datetime.now(UTC) - timedelta(seconds=1))
    if closed == "revoked":
        private_links.revoke_link(ClientLink.objects.get(), datetime.now(UTC))
    if closed == "altered":
        token = token[:-1] + ("A" if token[-1] != "A" else "B")
    for name in ("client_quote", "client_quote_pdf"):
        address = reverse(f"clients:{name}", args=[token])
        for page in (Browser().get(address), Browser().post(address, {"act": "decline"})):
            assert page.status_code == 404
            assert "opens nothing any more" in page.content.decode()
            assert "Felt Fox" not in page.content.decode()
    assert Quote.objects.get().status == "sent"


def test_a_draft_has_no_link(quote):
    with pytest.raises(NotPossible, match="Send the quote first"):
        services.make_link(quote, NOW)


def test_the_owner_notes_who_accepted_and_the_client_says_it_of_themselves(
    sent, owner_client, address
):
    noted = owner_client.get(reverse("clients:quote_sent", args=[sent.pk])).content.decode()
    assert "Who accepted" in noted
    assert "Your name" not in noted
    assert "Your name" in Browser().get(address).content.decode()


def test_the_owner_declines_lapses_archives_and_brings_back(sent, studio, owner_client):
    owner_client.post(reverse("clients:quote_lapse", args=[sent.pk]))
    assert Quote.objects.get().status == "lapsed"
    owner_client.post(reverse("clients:quote_decline", args=[sent.pk]))
    assert Quote.objects.get().status == "lapsed"
    owner_client.post(reverse("clients:quote_archive", args=[sent.pk]))
    assert owner_client.get(reverse("clients:quote_sent", args=[sent.pk])).status_code == 404
    owner_client.post(reverse("clients:quote_restore", args=[sent.pk]))
    assert owner_client.get(reverse("clients:quote_sent", args=[sent.pk])).status_code == 200


def test_the_list_shows_totals_and_asks_the_same_for_one_and_many(
    sent, client, owner, studio, owner_client, django_assert_num_queries
):
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as one:
        owner_client.get(reverse("clients:quotes"))
    for number in range(5):
        send(drafted(client, owner, title=f"Film {number}"), studio)
    with django_assert_num_queries(len(one)):
        page = owner_client.get(reverse("clients:quotes")).content.decode()
    assert sent.sent.offers[0]["total"] in page


@pytest.mark.parametrize(("days", "said"), [(0, True), (5, True), (6, False)])
def test_a_quote_about_to_lapse_is_said_on_today_to_the_owner_only(
    sent, owner_client, crew_client, days, said
):
    today = Studio.objects.get().today(datetime.now(UTC))
    Quote.objects.filter(pk=sent.pk).update(valid_until=today + timedelta(days=days))
    assert ("ask for an answer" in owner_client.get("/").content.decode()) is said
    assert "Quote 2026" not in crew_client.get("/").content.decode()
