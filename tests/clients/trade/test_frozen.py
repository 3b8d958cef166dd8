"""Figures put away as JSON come back the same, to the last digit."""

import json
from datetime import date
from decimal import Decimal
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as some

from clients.documents.quote import QuotePaper
from clients.trade.frozen import freeze, thaw
from clients.trade.quoting.draft import Offer
from clients.trade.quoting.lines import Line
from clients.trade.quoting.three_point import ThreePoint
from tests.clients.documents.papers import quote
from tests.clients.trade.films import EVERY_KIND_OF_LINE
from tests.clients.trade.test_draft import priced_whole


def through_json(kind, value):
    return thaw(kind, json.loads(json.dumps(freeze(value))))


def test_an_offer_with_every_kind_of_line_comes_back_the_same():
    offers = priced_whole()
    assert through_json(tuple[Offer, ...], offers) == offers


def test_every_line_comes_back_the_same():
    assert through_json(tuple[Line, ...], EVERY_KIND_OF_LINE) == EVERY_KIND_OF_LINE


def test_what_a_paper_says_comes_back_the_same():
    assert through_json(QuotePaper, quote()) == quote()


def test_a_field_added_since_takes_its_default():
    line = freeze(EVERY_KIND_OF_LINE[0])
    del line["group"]
    assert thaw(Line, line) == EVERY_KIND_OF_LINE[0]


@given(some.decimals(allow_nan=False, allow_infinity=False), some.fractions(), some.dates())
def test_no_digit_is_lost(amount, rate, day):
    assert through_json(Decimal, amount) == amount
    assert through_json(Fraction, rate) == rate
    assert through_json(date, day) == day


def test_a_union_is_read_by_the_shape_of_what_was_frozen():
    guesses = ThreePoint(Decimal(1), Decimal("2.5"), Decimal(4))
    kind = Decimal | ThreePoint | None
    assert [through_json(kind, one) for one in (guesses, Decimal("2.50"), None)] == [
        guesses,
        Decimal("2.50"),
        None,
    ]
