"""The film page holds a production against its quote, for the owner."""

from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from shots.models import QuotedDays
from shots.queries.quoted import quoted_against_measured
from shots.services.quoted import keep_quoted
from tests import factories


@pytest.fixture
def film(studio):
    """Quoted at 14 days, 18 promised; one day shot: 20 pictures of easy in 4 hours."""
    easy = factories.DifficultyFactory(name="easy", pictures_per_hour=20)
    hard = factories.DifficultyFactory(name="hard", pictures_per_hour=6)
    film = factories.ProductionFactory(code="FOX")
    shot = factories.ShotFactory(production=film, difficulty=easy)
    session = factories.SessionFactory(production=film)
    factories.SessionShotFactory(session=session, shot=shot, kept=20)
    keep_quoted(
        film, even=14, promised=18, chance=0.8,
        paces=[(easy, 200, Decimal("12.5")), (hard, 60, Decimal(6))],
    )  # fmt: skip
    return film


def test_pace_and_days_stand_beside_what_was_measured(film):
    page = quoted_against_measured(film, None)
    assert (page.days.even, page.days.promised, page.days_shot) == (14, 18, 1)
    easy, hard = page.paces
    assert (easy.difficulty, easy.quoted, easy.measured.pace) == ("easy", Decimal("12.5"), 5)
    assert (hard.quoted, hard.measured) == (6, None)


def test_only_the_owner_sees_it(film, owner_client, crew_client):
    address = reverse("shots:film", args=["FOX"])
    page = owner_client.get(address).content.decode()
    assert "Quoted and measured" in page
    assert "18 were promised to hold with 80 %" in page
    assert "20 pictures in 4 hours without set-ups" in page
    assert "Quoted and measured" not in crew_client.get(address).content.decode()


def test_a_production_without_a_quote_says_nothing_of_one(studio, owner_client):
    film = factories.ProductionFactory()
    page = owner_client.get(reverse("shots:film", args=[film.code])).content.decode()
    assert "Quoted and measured" not in page


@pytest.mark.parametrize("days", [(5, 4, 80), (4, 5, 100), (4, 5, 0)])
def test_the_database_refuses_days_that_cannot_be(studio, days):
    film = factories.ProductionFactory()
    even, promised, chance = days
    with pytest.raises(IntegrityError), transaction.atomic():
        QuotedDays.objects.create(production=film, even=even, promised=promised, chance=chance)
