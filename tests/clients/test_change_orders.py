"""A change order from its draft to its acceptance, and what the film becomes by it."""

import io
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal as D

import pytest
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pypdf import PdfReader

from clients.models import (
    ChangeAcceptance,
    ChangeOrder,
    ChangeOrderLink,
    Deliverable,
    SentChangeOrder,
    ShotChange,
)
from clients.queries import change_orders as queries
from clients.queries.deliverables import wanted_of
from clients.services import change_orders as services
from clients.services.private_links import revoke_link
from shots.models import Difficulty, Production, Shot
from shots.services import shots as floor
from studio.errors import EditedMeanwhile, NotPossible
from studio.models import Studio
from tests import factories
from tests.clients.at_once import at_the_same_moment
from tests.clients.money_cast import accepted_film, quote_of
from tests.clients.quote_cast import NOW, TODAY, drafted, with_lists


@pytest.fixture
def client(studio):
    return with_lists(factories.ClientFactory(name="Żółć & Ωmega 工房"))


@pytest.fixture
def film(client, owner, studio):
    return accepted_film(client, owner, studio)


@pytest.fixture
def order(film):
    return services.start_change_order(quote_of(film), "A longer end")


def shot(film, code="010") -> Shot:
    return film.shots.get(code=code)


def longer(order, film, seconds=5, code="010"):
    """The shot gets so many seconds more."""
    one = shot(film, code)
    return services.set_length(order, one, one.screen_frames + 24 * seconds)


def new_shot(order, **more):
    fields = {
        "code": "030", "description": "The hen bows", "screen_frames": 48, "exposure": 2,
        "difficulty": Difficulty.objects.get(name="easy"), "setup": None, "new_setup": True,
    }  # fmt: skip
    return services.add_shot(order, fields | more)


def send(order, studio, today=TODAY):
    return services.send_change_order(order, studio, NOW, today)


def accept(order, name="Noor Haddad", today=TODAY):
    return services.accept_change_order(order, name, NOW, today)


@pytest.fixture
def sent(order, film, studio):
    longer(order, film)
    return send(order, studio)


def price(order, studio):
    return queries.price_order(queries.change_order_with_parts(order.pk), studio, TODAY)


def test_seconds_more_cost_what_the_quote_says_one_more_second_costs(order, film, studio):
    longer(order, film, seconds=5)
    priced = price(order, studio).priced
    per_second = queries.accepted_offer(quote_of(film)).more["easy"]
    # The line's days are printed to three decimals: 0.0005 days of 300 a day on either line.
    assert abs(priced.totals.net - 5 * per_second) <= D("0.30")
    assert (priced.frames, priced.pictures) == (120, 60)
    assert priced.totals.tax == round(priced.totals.net * D("0.2"), 2)


def test_every_line_of_a_change_multiplies_to_its_amount(order, film, studio):
    longer(order, film, seconds=3)
    for line in price(order, studio).priced.lines:
        assert line.amount == round(line.quantity * line.price, 2)


def test_a_cut_gives_back_what_it_cost(order, film, studio):
    services.cut_shot(order, shot(film, "020"))
    priced = price(order, studio).priced
    offer = queries.accepted_offer(quote_of(film))
    # Half of the film's pictures: half of its animation and contingency.
    assert priced.pictures == -120
    assert abs(priced.totals.net + offer.priced.totals.net / 2) <= D("0.30")
    assert priced.after.gross < priced.before.gross


def test_nothing_changed_cannot_be_sent(order, studio):
    assert "Nothing changes yet" in price(order, studio).refusal
    with pytest.raises(NotPossible, match="cannot be sent yet"):
        send(order, studio)
    assert ChangeOrder.objects.get().number is None


def test_the_whole_film_cannot_be_cut(order, film, studio):
    services.cut_shot(order, shot(film, "010"))
    services.cut_shot(order, shot(film, "020"))
    assert "Nothing of the film would be left" in price(order, studio).refusal


def test_no_more_is_taken_off_than_is_agreed(order, film, studio):
    services.add_line(order, {"label": "Rebate", "amount": D(-(10**6)), "tax_rate": D(0)})
    assert "more than the" in price(order, studio).refusal


@pytest.mark.parametrize(
    ("amount", "field"), [("0", "amount"), ("0.001", "amount"), ("9999999999999", "amount")]
)
def test_a_line_that_cannot_be_is_refused_at_its_entry(order, amount, field):
    with pytest.raises(NotPossible) as refused:
        services.add_line(order, {"label": "Felt", "amount": D(amount), "tax_rate": D(0)})
    assert refused.value.field == field


def test_a_length_its_holds_do_not_fit_is_refused_at_its_entry(order, film):
    film.shots.filter(code="010").update(held_frames=100, holds=1)
    with pytest.raises(NotPossible) as refused:
        services.set_length(order, shot(film), 24)
    assert refused.value.field == "screen_frames"


def test_a_code_the_film_has_is_refused(order, film):
    with pytest.raises(NotPossible, match="has the code 010") as refused:
        new_shot(order, code="010")
    assert refused.value.field == "code"


def test_a_second_change_of_a_shot_takes_the_place_of_the_first(order, film):
    longer(order, film, seconds=1)
    longer(order, film, seconds=2)
    assert ShotChange.objects.get().screen_frames == 240 + 48


def test_what_a_shot_grew_by_on_the_floor_is_agreed_with_its_new_length(order, film, studio):
    film.shots.filter(code="010").update(screen_frames=288)  # 24 pictures more than agreed
    assert price(order, studio).growth == 24
    services.set_length(order, shot(film), 288)
    priced = price(order, studio).priced
    assert (priced.frames, priced.pictures) == (0, 24)


def test_sending_numbers_freezes_and_keeps_the_pdf(sent):
    assert (sent.reference, sent.status) == ("2026-001-1", "sent")
    assert sent.valid_until == date(2026, 3, 16)
    kept = SentChangeOrder.objects.get()
    text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(bytes(kept.pdf))).pages)
    for words in (
        "2026-001-1",
        "lengthened from 10 s 00 f to 15 s 00 f",
        "+60",
        "Żółć & Ωmega 工房",
    ):
        assert words in text
    assert queries.paper_of(kept).sums[-1].amount in text


def test_what_was_sent_stays_whatever_is_measured_later(sent):
    before = queries.figures_of(sent.sent)
    Difficulty.objects.update(pictures_per_hour=1)
    assert queries.figures_of(SentChangeOrder.objects.get()) == before


def test_a_sent_order_takes_no_change(sent, film, studio):
    for act in (
        lambda: longer(sent, film),
        lambda: services.cut_shot(sent, shot(film)),
        lambda: new_shot(sent),
        lambda: services.add_line(sent, {"label": "Felt", "amount": D(1), "tax_rate": D(0)}),
        lambda: services.take_out(sent, sent.shot_changes.get()),
        lambda: services.save_details(sent, sent.version, {"title": "X"}),
        lambda: send(sent, studio),
    ):
        with pytest.raises(NotPossible, match="was sent meanwhile"):
            act()


def test_two_editors_of_a_draft_are_told(order):
    services.save_details(order, order.version, {"title": "One"})
    with pytest.raises(EditedMeanwhile):
        services.save_details(order, order.version, {"title": "Two"})


def test_only_one_change_waits_at_a_time(sent, film, studio):
    second = services.start_change_order(quote_of(film), "Another")
    longer(second, film, code="020")
    with pytest.raises(NotPossible, match="2026-001-1 waits for its answer"):
        send(second, studio)
    services.lapse_change_order(sent, NOW)
    assert send(second, studio).reference == "2026-001-2"


def test_a_change_needs_an_accepted_quote(client, owner, studio):
    with pytest.raises(NotPossible, match="is not accepted"):
        services.start_change_order(drafted(client, owner), "Too early")


def test_acceptance_grows_shots_runtime_deadline_and_price(order, film, studio):
    longer(order, film, seconds=5)
    services.cut_shot(order, shot(film, "020"))
    new_shot(order)
    services.add_line(order, {"label": "A hen", "amount": D(400), "tax_rate": D(10)})
    whole = send(order, studio)
    priced = queries.figures_of(whole.sent)
    accept(whole)
    after = Production.objects.get()
    assert after.contracted_frames == 480 + 120 - 240 + 48
    assert after.deadline == priced.finish
    grown, cut, added = (after.shots.get(code=code) for code in ("010", "020", "030"))
    assert (grown.screen_frames, grown.agreed_pictures) == (360, 180)
    assert (cut.status, cut.agreed_pictures) == ("cut", 0)
    assert (added.agreed_pictures, added.setup.code) == (24, "S03")
    assert after.shots.in_film().last() == added
    quote = quote_of(film)
    agreed = queries.agreed_so_far(quote, queries.accepted_offer(quote))
    assert agreed.gross == priced.before.gross + priced.totals.gross
    assert (agreed.frames, agreed.pictures, agreed.setups) == (408, 204, 3)
    assert (after.quoted_days.even, after.quoted_days.promised) == (agreed.days_even, agreed.days)
    assert after.quoted_paces.get().pictures == 204
    assert ChangeAcceptance.objects.get().sha256 == whole.sent.sha256
    assert grown.history.count() > 1  # what stood before is kept


def test_changes_follow_each_other(sent, film, studio):
    accept(sent)
    second = services.start_change_order(quote_of(film), "A little more")
    longer(second, film, seconds=1)
    second = send(second, studio)
    first, then = (queries.figures_of(one.sent) for one in (sent, second))
    assert then.before == first.after
    accept(second)
    assert shot(film).agreed_pictures == 120 + 60 + 12


def test_a_finished_shot_that_grows_is_to_be_shot_on(sent, film):
    session = factories.SessionFactory(production=film)
    factories.SessionShotFactory(session=session, shot=shot(film), kept=120)
    film.shots.filter(code="010").update(status="approved")
    accept(sent)
    assert shot(film).status == "shooting"


def test_a_shot_put_aside_or_cut_meanwhile_comes_back_with_its_agreed_length(sent, film):
    floor.archive_shot(shot(film), NOW)
    film.shots.filter(code="010").update(status="cut")
    accept(sent)
    one = shot(film)
    assert (one.archived_at, one.status, one.screen_frames) == (None, "to shoot", 360)


def test_a_code_taken_meanwhile_gives_way(order, film, studio):
    new_shot(order)
    whole = send(order, studio)
    factories.ShotFactory(production=film, code="030")
    accept(whole)
    assert film.shots.filter(code="030-2").exists()


def test_files_promised_as_long_as_the_film_follow_it(order, film, studio):
    frames = film.contracted_frames
    whole, short = (
        factories.DeliverableFactory(
            production=film, frames=length, rate_numerator=film.rate_numerator,
            rate_denominator=film.rate_denominator,
        )
        for length in (frames, frames - 24)
    )  # fmt: skip
    longer(order, film, seconds=1)
    accept(send(order, studio))
    wanted = [
        wanted_of(Deliverable.objects.get(pk=one.pk)).frame_count.frames for one in (whole, short)
    ]
    assert wanted == [frames + 24, frames - 24]


def test_accepted_twice_once_wins_and_the_other_is_told(sent):
    accept(sent, "First")
    with pytest.raises(NotPossible, match="accepted already"):
        accept(sent, "Second")
    assert ChangeAcceptance.objects.get().name == "First"


@pytest.mark.django_db(transaction=True)
def test_two_clients_at_the_same_moment_grow_the_film_once(sent, film):
    answers = at_the_same_moment(
        lambda: accept(sent, "First"),
        lambda: accept(sent, "Second"),
        lambda: accept(sent, "Third"),
    )
    assert sum(isinstance(one, NotPossible) for one in answers) == 2
    assert ChangeAcceptance.objects.count() == 1
    assert Production.objects.get().contracted_frames == 600
    assert shot(film).agreed_pictures == 180


@pytest.mark.django_db(transaction=True)
def test_two_changes_sent_at_the_same_moment_do_not_both_wait(order, film, studio):
    second = services.start_change_order(quote_of(film), "Another")
    longer(order, film)
    longer(second, film, code="020")
    answers = at_the_same_moment(lambda: send(order, studio), lambda: send(second, studio))
    assert sum(isinstance(one, NotPossible) for one in answers) == 1
    assert ChangeOrder.objects.waiting().get().number == 1


def test_nothing_changes_where_the_acceptance_fails(sent, film, monkeypatch):
    def broken(*args, **kwargs):
        raise RuntimeError("the lamp went out")

    monkeypatch.setattr(ChangeAcceptance.objects, "create", broken)
    with pytest.raises(RuntimeError):
        accept(sent)
    assert shot(film).screen_frames == 240
    assert ChangeOrder.objects.get().status == "sent"


@pytest.mark.parametrize(
    ("status", "today", "sentence"),
    [
        ("declined", TODAY, "is declined"),
        ("lapsed", TODAY, "not valid any more"),
        ("sent", TODAY + timedelta(days=15), "not valid any more"),
    ],
)
def test_a_closed_change_cannot_be_accepted(sent, status, today, sentence):
    ChangeOrder.objects.update(status=status)
    with pytest.raises(NotPossible, match=sentence):
        accept(sent, today=today)


@pytest.mark.parametrize("currency", ["JPY", "KWD"])
def test_a_change_keeps_the_coins_of_its_currency(client, owner, studio, currency):
    # ISO 4217: 0 and 3 decimals (verified in a packaged list)
    client.currency = currency
    client.save()
    film = accepted_film(client, owner, studio)
    order = services.start_change_order(quote_of(film), "Longer")
    longer(order, film, seconds=1)
    totals = price(order, studio).priced.totals
    places = {"JPY": 0, "KWD": 3}[currency]
    for amount in (totals.net, totals.tax, totals.gross):
        assert -amount.as_tuple().exponent == places


# The pages


@pytest.fixture
def address(sent):
    """A private link of a change order that is valid for long."""
    token = services.make_link(sent, datetime.now(UTC))
    ChangeOrder.objects.update(valid_until=date(2099, 1, 1))
    return reverse("clients:client_change", args=[token])


def test_the_client_reads_and_accepts_through_the_link_without_an_account(sent, address):
    browser = Browser()
    page = browser.get(address)
    assert page.status_code == 200
    assert "no-store" in page.headers["Cache-Control"]
    assert "noindex" in page.headers["X-Robots-Tag"]
    assert browser.get(f"{address}change-order.pdf").content.startswith(b"%PDF")
    assert ChangeOrderLink.objects.get().token_hash not in address
    assert browser.post(address, {"name": ""}).status_code == 422
    browser.post(address, {"name": "Noor Haddad", "agreed": "on"})
    assert ChangeAcceptance.objects.get().by_link == ChangeOrderLink.objects.get()
    again = browser.post(address, {"name": "Somebody else", "agreed": "on"})
    assert again.status_code == 422
    assert "accepted already" in again.content.decode()
    assert ChangeAcceptance.objects.get().name == "Noor Haddad"


def test_the_client_declines_through_the_link_and_says_why(sent, address):
    page = Browser().post(address, {"act": "decline", "words": "No hen"}, follow=True)
    assert "was declined" in page.content.decode()
    assert ChangeOrder.objects.get().answer == "No hen"


@pytest.mark.parametrize("closed", ["expired", "revoked", "altered"])
def test_a_closed_link_says_so_and_leaks_nothing(sent, closed):
    token = services.make_link(sent, datetime.now(UTC))
    if closed == "expired":
        ChangeOrderLink.objects.update(expires_at=datetime.now(UTC) - timedelta(seconds=1))
    if closed == "revoked":
        revoke_link(ChangeOrderLink.objects.get(), datetime.now(UTC))
    if closed == "altered":
        token = token[:-1] + ("A" if token[-1] != "A" else "B")
    for name in ("client_change", "client_change_pdf"):
        address = reverse(f"clients:{name}", args=[token])
        for page in (Browser().get(address), Browser().post(address, {"act": "decline"})):
            assert page.status_code == 404
            assert "opens nothing any more" in page.content.decode()
            assert "Felt Fox" not in page.content.decode()
    assert ChangeOrder.objects.get().status == "sent"


def test_a_draft_has_no_link(order):
    with pytest.raises(NotPossible, match="Send it first"):
        services.make_link(order, NOW)


def test_the_link_never_shows_a_hidden_line(order, film, studio):
    quote = quote_of(film)
    figures = quote.sent.figures
    for line in figures[0]["priced"]["lines"]:
        if line["line"]["kind"] == "contingency":
            line["line"] |= {"hidden": True, "label": "Secret reserve"}
    quote.sent.save()
    longer(order, film, seconds=8)
    whole = send(order, studio)
    token = services.make_link(whole, datetime.now(UTC))
    page = Browser().get(reverse("clients:client_change", args=[token])).content.decode()
    assert "Secret reserve" not in page
    assert "includes Animation" in page


def test_rows_come_and_go_on_the_draft_and_can_be_put_back(order, film, owner_client):
    at = lambda name, *more: reverse(f"clients:{name}", args=[order.pk, *more])  # noqa: E731
    said = {"length-shot": shot(film).pk, "length-screen_frames": "12.5"}
    owner_client.post(at("change_length"), said)
    owner_client.post(at("change_cut"), {"cut-shot": shot(film, "020").pk})
    easy = Difficulty.objects.get(name="easy").pk
    owner_client.post(
        at("change_shot_new"),
        {"new-code": "030", "new-screen_frames": "2", "new-exposure": "2", "new-difficulty": easy},
    )
    line = {"line-label": "A hen", "line-amount": "400", "line-tax_rate": "10"}
    owner_client.post(at("change_line_new"), line)
    assert list(ShotChange.objects.values_list("code", "screen_frames")) == [
        ("010", 300), ("020", 240), ("030", 48),
    ]  # fmt: skip
    page = owner_client.get(at("change_order")).content.decode()
    assert "lengthened from 10 s 00 f to 12 s 12 f" in page
    for row in ShotChange.objects.all():
        page = owner_client.post(at("change_shot_drop", row.pk))
        undo = page.context["taken_out"]
        data = {bound.html_name: bound.value() for bound in undo["form"] if bound.value()}
        owner_client.post(reverse(undo["undo"], args=[order.pk]), data)
    owner_client.post(at("change_line_drop", order.lines.get().pk))
    assert set(ShotChange.objects.values_list("code", "kind", "screen_frames")) == {
        ("010", "length", 300), ("020", "cut", 240), ("030", "added", 48),
    }  # fmt: skip
    assert not order.lines.exists()


@pytest.mark.parametrize(
    ("name", "data", "sentence"),
    [
        ("change_length", {"length-screen_frames": "-1"}, "This field is required"),
        ("change_cut", {"cut-shot": "x"}, "Select a valid choice"),
        ("change_shot_new", {"new-code": "a b", "new-screen_frames": "2"}, "it names files"),
        ("change_line_new", {"line-label": "A", "line-amount": "1e99"}, "14 digits"),
        ("change_line_new", {"line-label": "A", "line-amount": "0.001"}, "finer than the coins"),
    ],
)
def test_what_cannot_be_is_said_at_its_entry(order, owner_client, name, data, sentence):
    data = {"line-tax_rate": "0"} | data
    page = owner_client.post(reverse(f"clients:{name}", args=[order.pk]), data)
    assert page.status_code == 422
    assert sentence in page.content.decode()


def test_the_owner_notes_an_acceptance(sent, owner_client):
    at = reverse("clients:change_accept", args=[sent.pk])
    ChangeOrder.objects.update(valid_until=date(2099, 1, 1))
    assert owner_client.post(at, {"name": "Noor"}).status_code == 422
    assert owner_client.post(at, {"name": "Noor", "agreed": "on"}).status_code == 302
    assert ChangeOrder.objects.get().status == "accepted"
    page = owner_client.get(reverse("clients:change_order", args=[sent.pk])).content.decode()
    assert "Noor accepted it on" in page


def test_a_draft_is_archived_and_brought_back(order, film, owner_client):
    owner_client.post(reverse("clients:change_archive", args=[order.pk]))
    assert owner_client.get(reverse("clients:change_order", args=[order.pk])).status_code == 404
    page = owner_client.get(reverse("clients:production_money", args=[film.code]))
    assert "Bring back" in page.content.decode()
    owner_client.post(reverse("clients:change_restore", args=[order.pk]))
    assert owner_client.get(reverse("clients:change_order", args=[order.pk])).status_code == 200


@pytest.mark.parametrize(("days", "said"), [(0, True), (5, True), (6, False)])
def test_a_change_about_to_lapse_is_said_on_today_to_the_owner_only(
    sent, owner_client, crew_client, days, said
):
    today = Studio.objects.get().today(datetime.now(UTC))
    ChangeOrder.objects.update(valid_until=today + timedelta(days=days))
    assert ("ask for an answer" in owner_client.get("/").content.decode()) is said
    assert "Change order" not in crew_client.get("/").content.decode()


def test_a_draft_asks_the_same_of_the_database_for_one_change_and_for_twenty(
    order, film, owner_client
):
    at = reverse("clients:change_order", args=[order.pk])
    longer(order, film)
    with CaptureQueriesContext(connection) as one:
        owner_client.get(at)
    for number in range(20):
        new_shot(order, code=f"N{number}")
    with CaptureQueriesContext(connection) as many:
        owner_client.get(at)
    assert len(one) == len(many) <= 40
