from dataclasses import replace
from decimal import Decimal as D
from fractions import Fraction

import pytest

from clients.trade.quoting.errors import QuoteError
from clients.trade.quoting.option import Option, Sequence, work_of
from clients.trade.quoting.pricing import price_option
from tests.clients.trade.films import CHASE, FILM, OPENING, PACE, line, two_weeks


@pytest.mark.parametrize(
    ("entries", "field"),
    [
        ({"seconds": D(0)}, "seconds"),
        ({"seconds": D(-1)}, "seconds"),
        ({"seconds": D("Infinity")}, "seconds"),
        ({"exposure": 0}, "exposure"),
        ({"exposure": 1.5}, "exposure"),
        ({"held_seconds": D(11)}, "held_seconds"),
        ({"held_seconds": D(-1)}, "held_seconds"),
        ({"held_seconds": D(1), "holds": 0}, "holds"),
        ({"reused_seconds": D(9)}, "reused_seconds"),
        ({"setups": -1}, "setups"),
        ({"difficulty": ""}, "difficulty"),
    ],
)
def test_an_impossible_sequence_is_refused_with_a_sentence_about_its_entry(entries, field):
    with pytest.raises(QuoteError) as refused:
        replace(OPENING, **entries).length(Fraction(24))
    assert refused.value.field == field
    assert "“Opening”" in refused.value.sentence


def test_an_option_without_sequences_is_refused():
    with pytest.raises(QuoteError) as refused:
        Option("Empty", Fraction(24), ())
    assert refused.value.field == "sequences"


@pytest.mark.parametrize(
    "pace", [{"easy": D(17)}, {"easy": D(17), "hard": D(0)}, {"easy": D("1e-308"), "hard": D(8)}]
)
def test_a_difficulty_without_a_pace_is_refused(pace):
    with pytest.raises(QuoteError) as refused:
        work_of(FILM, pace)
    assert refused.value.field == "pace"


@pytest.mark.parametrize(("runtime", "over"), [(D(15), 0), (D(14), 24), (D("15.5"), -12)])
def test_an_option_says_how_far_it_is_from_the_runtime_agreed(runtime, over):
    assert replace(FILM, runtime=runtime).frames_over == over


def test_a_set_up_may_be_shared_with_another_sequence():
    shared = Sequence("Coda", D(1), 2, "easy", setups=0)
    assert work_of(Option("x", Fraction(24), (CHASE, shared)), PACE).setups == 3


@pytest.mark.parametrize("confidence", [0.7, 0.99])
def test_a_confidence_the_forecast_does_not_give_is_refused(confidence):
    with pytest.raises(QuoteError) as refused:
        price_option(FILM, [line()], PACE, two_weeks, currency="EUR", confidence=confidence)
    assert refused.value.field == "confidence"


def test_a_price_without_lines_is_refused():
    with pytest.raises(QuoteError) as refused:
        price_option(FILM, [], PACE, two_weeks, currency="EUR")
    assert refused.value.field == "lines"


def test_an_unknown_currency_is_refused():
    with pytest.raises(QuoteError) as refused:
        price_option(FILM, [line()], PACE, two_weeks, currency="FELT")
    assert refused.value.field == "currency"
