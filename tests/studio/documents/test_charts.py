from datetime import date
from fractions import Fraction
from io import BytesIO

import pytest
from pypdf import PdfReader

from studio.documents.charts import FanChart, StripChart
from studio.documents.paper import sheet, text_width
from studio.trade.fan import BudgetStep, ForecastDay, KeptDay, fan
from studio.trade.strip import StripShot, strip

RATE = Fraction(24)
MONDAY = date(2026, 3, 2)
WIDTH = text_width("A4")


def printed(*charts) -> str:
    pages = PdfReader(BytesIO(sheet(charts, "Report", "A4", ""))).pages
    assert len(pages) == 1
    return pages[0].extract_text()


def strokes(*charts) -> int:
    """How many straight lines the page draws."""
    page = PdfReader(BytesIO(sheet(charts, "Report", "A4", ""))).pages[0]
    return page.get_contents().get_data().count(b" l")


def test_the_strip_says_in_words_what_it_shows():
    shots = [StripShot("A10", 120, 60, 60, "shot"), StripShot("紙20", 120, 0, 60, "to shoot")]
    text = printed(StripChart(strip(shots, RATE, 226), WIDTH))
    assert "A10" in text
    assert "紙20" in text
    assert "0:09" in text
    assert "The film is 10 s 00 f, 0 s 14 f over the contracted 9 s 10 f." in text
    assert "Hatched: shot. Dashed: contracted runtime." in text


def test_the_strip_hatches_more_the_more_is_shot():
    def film(kept: int) -> StripChart:
        return StripChart(strip([StripShot("A10", 240, kept, 100, "shooting")], RATE, None), WIDTH)

    nothing, half, whole = (strokes(film(kept)) for kept in (0, 50, 100))
    assert nothing + 50 < half < whole - 50


def test_a_shot_too_narrow_for_its_name_goes_unnamed():
    shots = [StripShot("A10", 2, 0, 1, "to shoot"), StripShot("A20", 2000, 0, 1, "to shoot")]
    text = printed(StripChart(strip(shots, RATE, None), WIDTH))
    assert "A10" not in text
    assert "A20" in text


@pytest.mark.parametrize("contracted", [None, 0, 240])
def test_an_empty_film_can_be_drawn(contracted):
    assert "The film is 0 s 00 f" in printed(StripChart(strip([], RATE, contracted), WIDTH))


def test_the_fan_names_its_lines_its_dates_and_its_counts():
    drawn = fan(
        [KeptDay(MONDAY, 40)],
        [BudgetStep(MONDAY, 700)],
        [ForecastDay(date(2026, 3, 20), 500, 650, 800)],
        date(2026, 3, 18),
        MONDAY,
    )
    text = printed(FanChart(drawn, WIDTH))
    for word in ("kept pictures", "budget", "even chance", "likely range", "today", "deadline"):
        assert word in text
    for mark in ("2 Mar", "9 Mar", "16 Mar", "800", "400"):
        assert mark in text


def test_the_fan_names_only_what_is_there():
    text = printed(FanChart(fan([KeptDay(MONDAY, 40)], [], [], None, MONDAY), WIDTH))
    assert "kept pictures" in text
    for word in ("budget", "even chance", "likely range", "deadline"):
        assert word not in text


def test_a_fan_without_anything_is_an_empty_box():
    assert "today" in printed(FanChart(fan([], [], [], None, MONDAY), WIDTH))
