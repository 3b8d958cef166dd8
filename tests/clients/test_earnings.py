"""Earnings: a production held against its quote, and what somebody says it really cost."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clients.models import ActualCost, FilmAccount
from clients.queries import earnings as queries
from clients.queries.quotes import price_quote
from clients.services import change_orders, quotes
from clients.services.earnings import save_account
from shots.models import Shot
from studio.errors import EditedMeanwhile
from tests import factories
from tests.clients.money_cast import accepted_film, quote_of
from tests.clients.quote_cast import NOW, TODAY, drafted, with_lists

ADDRESS = reverse("clients:earnings")


@pytest.fixture
def client(studio):
    return with_lists(factories.ClientFactory(name="Żółć & Ωmega 工房"))


def commissioned(
    client, owner, studio, title="The Felt Fox", kept=300, hours=30, stage="delivered"
):
    """A film quoted, accepted and shot in days of five hours."""
    quote = drafted(client, owner, title=title)
    quote.lines.filter(label="Materials").update(rate=200)
    quote.lines.filter(label="Sound").update(rate=500)
    quotes.send_quote(quote, studio, NOW, TODAY)
    film = quotes.accept_quote(quote, quote.options.first(), "Noor Haddad", NOW, TODAY)
    shot = film.shots.first()
    begun = datetime(2026, 4, 1, 8, tzinfo=UTC)
    for n in range(hours // 5):
        start = begun + timedelta(days=n)
        session = factories.SessionFactory(
            production=film, day=start.date(), started_at=start,
            ended_at=start + timedelta(hours=5),
        )  # fmt: skip
        factories.SessionShotFactory(session=session, shot=shot, kept=kept * 5 // hours)
    film.stage = stage
    film.save()
    return film


@pytest.fixture
def film(client, owner, studio):
    return commissioned(client, owner, studio)


def address(film):
    return reverse("clients:film_earnings", args=[film.code])


def account_data(**changes) -> dict:
    return {"read_version": 0, "hours_off_set": ""} | changes


def test_a_delivered_film_stands_against_its_quote(film, studio, owner_client):
    page = queries.film_earnings_page(film, studio)
    actual, quoted = page.film.result.actual, page.film.result.quoted
    assert (actual.days, actual.hours_on_set, actual.pictures) == (6, 30, 300)
    assert quoted.pictures == 360
    assert quoted.hours_on_set == 7 * quoted.days
    assert actual.costs == {"Materials": 200}
    # The price agreed less the materials, over the hours of the sessions and those quoted for the
    # sound: 500 at 300 a day of 7 hours.
    assert actual.hours_off_set == Decimal("11.7")
    assert page.film.result.hour_earned == round((actual.income - 200) / Decimal("41.7"), 2)
    shown = owner_client.get(address(film)).content.decode()
    assert "An hour earned €" in shown
    assert "Nobody has said what Materials cost" in shown


def test_what_was_said_is_kept_and_counts(film, studio, owner_client):
    labels = [line.label for line in queries.film_earnings_page(film, studio).film.costs]
    sound = labels.index("Sound")
    data = account_data(hours_off_set="12.5", label0="Taxi", more0="45.50")
    answer = owner_client.post(address(film), data | {f"cost{sound}": "430"})
    assert answer.status_code == 302
    costs = {cost.label: cost.amount for cost in ActualCost.objects.all()}
    assert costs == {"Sound": Decimal(430), "Taxi": Decimal("45.5")}
    result = queries.film_earnings_page(film, studio).film.result
    assert result.actual.hours == Decimal("42.5")
    assert result.actual.paid_out == Decimal("675.5")  # materials as quoted, 200
    assert result.quoted.paid_out == 700
    shown = owner_client.get(address(film)).content.decode()
    assert 'value="Taxi"' in shown
    assert 'value="430"' in shown


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"hours_off_set": "-1"}, "greater than or equal to 0"),
        ({"cost0": "-5"}, "greater than or equal to 0"),
        ({"cost0": "many"}, "Enter a number"),
        ({"cost0": "1.005"}, "finer than the coins of EUR: write 1.01"),
        ({"label0": "Taxi"}, "How much was “Taxi”?"),
        ({"more0": "9"}, "What were the 9 for?"),
        ({"label0": "Sound", "more0": "9"}, "“Sound” stands here already"),
        (
            {"label0": "Taxi", "more0": "9", "label1": "Taxi", "more1": "3"},
            "“Taxi” stands here already",
        ),
    ],
)
def test_what_cannot_be_is_refused_and_what_was_typed_stays(film, owner_client, change, sentence):
    answer = owner_client.post(address(film), account_data(**change))
    assert answer.status_code == 422
    page = answer.content.decode()
    assert sentence in page
    for typed in change.values():
        assert f'value="{typed}"' in page
    assert not FilmAccount.objects.exists()


def test_of_two_people_the_second_sees_both(film, owner_client):
    owner_client.post(address(film), account_data(hours_off_set="10"))
    answer = owner_client.post(address(film), account_data(hours_off_set="20", cost0="5"))
    assert answer.status_code == 409
    assert FilmAccount.objects.get().hours_off_set == 10
    page = answer.content.decode()
    assert "Somebody saved this while you were typing" in page
    again = owner_client.post(address(film), account_data(read_version=1, hours_off_set="20"))
    assert again.status_code == 302


def test_an_account_read_before_another_saved_it_is_refused(film):
    save_account(film, 0, Decimal(3), {})
    with pytest.raises(EditedMeanwhile):
        save_account(film, 0, Decimal(4), {})


def test_a_running_film_says_so_far_and_what_an_hour_earns_only_later(
    client, owner, studio, owner_client
):
    film = commissioned(client, owner, studio, stage="running")
    assert "so far" in owner_client.get(ADDRESS).content.decode()
    assert queries.earnings_page(studio, TODAY).plot is None
    shown = owner_client.get(address(film)).content.decode()
    assert "stands here once the film is delivered" in shown


def test_a_production_without_a_quote_has_nothing_to_be_held_against(studio, owner_client):
    film = factories.ProductionFactory()
    assert "No quote was accepted" in owner_client.get(address(film)).content.decode()
    assert owner_client.post(address(film), account_data()).status_code == 200
    assert "No production has come" in owner_client.get(ADDRESS).content.decode()


def test_films_stand_side_by_side_in_words_too(film, owner_client):
    shown = owner_client.get(ADDRESS).content.decode()
    assert 'aria-label="THEFELTF against its quote: an hour earned' in shown
    assert "Żółć &amp; Ωmega 工房" in shown


def test_the_list_asks_the_same_for_one_film_and_for_many(
    film, client, owner, studio, owner_client
):
    def asked():
        with CaptureQueriesContext(connection) as made:
            owner_client.get(ADDRESS)
        return len(made)

    save_account(film, 0, None, {"Taxi": Decimal(1)})
    before = asked()
    for n in range(3):
        made = commissioned(client, owner, studio, title=f"Film {n}")
        save_account(made, 0, Decimal(n), {"Taxi": Decimal(n)})
    assert asked() == before


def test_the_next_quote_assumes_what_was_measured(film, client, owner, studio, owner_client):
    # 300 pictures in 30 hours, with the 20 an hour assumed counted as 20 hours more.
    page = queries.earnings_page(studio, TODAY)
    assert page.paces[0].next.pace == Decimal("14.00")
    quote = drafted(client, owner, title="Next")
    assert price_quote(quote, studio, TODAY).offers[0].pace["easy"] == 14
    shown = owner_client.get(reverse("clients:quote", args=[quote.pk])).content.decode()
    assert "300 pictures in 6 sessions, together with the 20 assumed" in shown


def test_pictures_of_a_cut_shot_were_taken_all_the_same(film, studio):
    film.shots.update(status=Shot.Status.CUT)
    assert queries.film_earnings_page(film, studio).film.result.actual.pictures == 300


def test_a_new_quote_says_what_it_starts_from(film, client, owner, owner_client):
    save_account(film, 0, None, {"Materials": Decimal(240), "Taxi": Decimal(9)})
    shown = owner_client.get(reverse("clients:quote_new")).content.decode()
    assert "300 pictures in 6 sessions, together with the 20 assumed" in shown
    assert "for a day of 7 hours" in shown
    assert "Materials €240.00 (1 film), Taxi €9.00 (1 film)" in shown
    assert drafted(client, owner, title="Next").lines.get(label="Materials").rate == 240


def test_what_lines_cost_counts_delivered_films_of_the_same_currency_only(
    film, client, owner, studio
):
    running = commissioned(client, owner, studio, title="Other", stage="running")
    save_account(film, 0, None, {"Materials": Decimal(100)})
    save_account(running, 0, None, {"Materials": Decimal(900)})
    assert queries.usual_costs("EUR") == {"Materials": queries.UsualCost(Decimal("100.00"), 1)}
    assert queries.usual_costs("JPY") == {}


def test_a_change_agreed_counts_on_both_sides(client, owner, studio, owner_client):
    film = accepted_film(client, owner, studio)
    before = queries.film_earnings_page(film, studio).film.result
    order = change_orders.start_change_order(quote_of(film), "A longer look")
    change_orders.set_length(order, film.shots.first(), 480)
    change_orders.add_line(
        order, {"label": "Second hat", "amount": Decimal(90), "tax_rate": Decimal(20)}
    )
    change_orders.send_change_order(order, studio, NOW, TODAY)
    change_orders.accept_change_order(order, "Noor Haddad", NOW, TODAY)
    page = queries.film_earnings_page(film, studio).film
    # Ten seconds more on twos are 120 pictures.
    assert page.result.quoted.pictures == before.quoted.pictures + 120 == 360
    assert page.result.quoted.days > before.quoted.days
    assert page.result.quoted.income == page.result.actual.income > before.quoted.income + 90
    assert ("Second hat", 90) in [(line.label, line.quoted) for line in page.costs]
