"""Keeping what was quoted for a production, so that the floor can be held against it."""

from collections.abc import Iterable
from decimal import Decimal

from django.db import transaction

from shots.models import Difficulty, Production, QuotedDays, QuotedPace


@transaction.atomic
def keep_quoted(
    production: Production,
    *,
    even: int,
    promised: int,
    chance: float,
    paces: Iterable[tuple[Difficulty, int, Decimal]],
) -> None:
    """Keep the days quoted at even chance and at `chance` (0 to 1), and of each difficulty the
    pictures and the pace they were quoted at, in pictures an hour."""
    QuotedDays.objects.create(
        production=production, even=even, promised=promised, chance=round(100 * chance)
    )
    QuotedPace.objects.bulk_create(
        QuotedPace(
            production=production,
            difficulty=difficulty,
            pictures=pictures,
            pictures_per_hour=pace,
        )
        for difficulty, pictures, pace in paces
    )


@transaction.atomic
def grow_quoted(
    production: Production, even: int, promised: int, pictures: Iterable[tuple[Difficulty, int]]
) -> None:
    """The client agreed to a change: the days as they stand now, and pictures more or fewer of
    each difficulty. A difficulty that was not quoted has no pace to be held against."""
    QuotedDays.objects.filter(production=production).update(even=even, promised=promised)
    for difficulty, more in pictures:
        row = QuotedPace.objects.filter(production=production, difficulty=difficulty).first()
        if row:
            row.pictures = max(row.pictures + more, 0)
            row.save(update_fields=["pictures"])
