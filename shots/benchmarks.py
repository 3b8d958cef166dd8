"""Figures of the floor for `manage.py bench`."""

from django.urls import reverse

from shots.models import Production
from studio.benchmarks import Bench, Figure, Row, opening


def today_page(bench: Bench) -> Figure:
    """Today with one running film, its forecast included."""
    return Figure(opening(bench, reverse("studio:today")))


def film_page(bench: Bench) -> Figure:
    """The film page of the running film: fan, what moves the date, what-ifs."""
    film = Production.objects.running().first()
    return Figure(opening(bench, reverse("shots:film", args=[film.code])))


ROWS: dict[str, Row] = {"Today, one film running": today_page, "the film page": film_page}
