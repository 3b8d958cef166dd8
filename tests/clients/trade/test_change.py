from datetime import date
from decimal import Decimal as D
from fractions import Fraction
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clients.trade.change import (
    ChangedShot,
    agreed_with,
    extra_line,
    later_deadline,
    pictures_paid,
    price_change,
)
from clients.trade.frozen import freeze, thaw
from clients.trade.payment import PaymentPart
from clients.trade.quoting.draft import Draft, DraftLine, DraftPart, price_draft
from clients.trade.quoting.errors import QuoteError
from clients.trade.quoting.lines import Basis, Line, LineKind
from clients.trade.quoting.option import Option, Sequence
from shots.trade.budget import ShotLength
from studio.trade.calendar import WorkCalendar

PACE = {"easy": D(20), "hard": D(5)}


def forecasts(hours, setups):
    """A day for every six hours begun, one more for the days promised."""
    days = -int(-sum(hours.values()) // 6) + setups
    return SimpleNamespace(
        quote_sessions={0.5: days, 0.8: days + 1}, finish_dates={0.5: None, 0.8: None}
    )


def offer(*lines, currency="EUR"):
    """Twenty easy seconds on twos at 24: 240 pictures, 12 hours, two set-ups, 4 days and 1."""
    film = Option("The film", Fraction(24), (Sequence("All", D(20), 2, "easy", setups=2),))
    lines = lines or (
        Line("Animation", LineKind.ANIMATION, Basis.DAYS, D(300), tax_rate=D(20)),
        Line("Contingency", LineKind.CONTINGENCY, Basis.DAYS, None, tax_rate=D(20)),
    )
    draft = Draft(
        (film,),
        tuple(DraftLine(line) for line in lines),
        (DraftPart(PaymentPart("on acceptance")),),
        currency,
    )
    (made,) = price_draft(draft, PACE, forecasts)
    return made


def change(made, shots=(), extras=(), before=None):
    return price_change(made, before or agreed_with(made), shots, extras, PACE, forecasts)


def shot(pictures, frames=None, difficulty="easy", setups=0):
    frames = 2 * pictures if frames is None else frames
    return ChangedShot("010", "lengthened", difficulty, frames, pictures, setups)


def test_a_change_takes_its_share_of_animation_and_contingency():
    priced = change(offer(), [shot(60)])
    # 60 of 240 pictures are 3 of 12 hours: a quarter of 4 days and of 1 day, at 300 a day.
    assert [(line.quantity, line.amount) for line in priced.lines] == [
        (D("1.000"), D("300.00")),
        (D("0.250"), D("75.00")),
    ]
    assert (priced.totals.net, priced.totals.tax, priced.totals.gross) == (
        D("375.00"), D("75.00"), D("450.00"),
    )  # fmt: skip
    assert (priced.frames, priced.pictures, priced.days) == (120, 60, 1)


def test_one_second_costs_what_the_quote_prints_for_one_more_second():
    made = offer()
    easy = change(made, [shot(12)])
    hard = change(made, [shot(12, difficulty="hard")])
    assert easy.totals.net == made.more["easy"] == D("75.00")
    assert hard.totals.net == made.more["hard"] == D("300.00")


def test_clean_up_follows_the_pictures_and_set_ups_their_number():
    made = offer(
        Line("Animation", LineKind.ANIMATION, Basis.DAYS, D(300)),
        Line("Set-ups", LineKind.SETUP, Basis.QUANTITY, D(90)),
        Line("Clean-up", LineKind.CLEANUP, Basis.QUANTITY, D(30), pictures_per_hour=D(12)),
        Line("Puppets", LineKind.BUILDS, Basis.FIXED, D(800)),
        Line("Licence fee", LineKind.OTHER, Basis.PERCENT, D(10)),
        Line("Making-of", LineKind.ANIMATION, Basis.DAYS, D(300), D(2), optional=True),
    )
    priced = change(made, [shot(24, setups=1)])
    assert [(line.line.label, line.amount) for line in priced.lines] == [
        ("Animation", D("120.00")),  # a tenth of 4 days
        ("Set-ups", D("90.00")),
        ("Clean-up", D("60.00")),  # a tenth of 20 hours
    ]


def test_a_fixed_price_of_animation_is_shared_too():
    made = offer(Line("Animation", LineKind.ANIMATION, Basis.FIXED, D(1000), tax_rate=D(5)))
    (line,) = change(made, [shot(24)]).lines
    assert (line.amount, line.quantity) == (D("100.00"), None)


def test_what_is_taken_off_lowers_its_own_tax_rate():
    extras = [
        extra_line("A hen", D(400), D(10), "EUR"),
        extra_line("Rebate", D(-50), D(20), "EUR"),
    ]
    totals = change(offer(), extras=extras).totals
    # EN 16931 BR-CO-17 (verified): each rate on its own sum.
    assert [(part.rate, part.base, part.tax) for part in totals.taxes] == [
        (D(20), D("-50.00"), D("-10.00")),
        (D(10), D("400.00"), D("40.00")),
    ]
    assert totals.gross == D("380.00")


@pytest.mark.parametrize(
    ("shots", "extras", "words"),
    [
        ([], [], "Nothing changes yet"),
        ([shot(-240)], [], "Nothing of the film would be left"),
        ([], [("Rebate", D(-5000))], "more than the"),
    ],
)
def test_a_change_that_cannot_be_is_refused(shots, extras, words):
    lines = [extra_line(label, amount, D(0), "EUR") for label, amount in extras]
    with pytest.raises(QuoteError, match=words):
        change(offer(), shots, lines)


@pytest.mark.parametrize("amount", ["0", "0.005", "1e13", "NaN"])
def test_a_line_that_cannot_be_is_refused(amount):
    with pytest.raises(QuoteError) as refused:
        extra_line("Felt", D(amount), D(20), "EUR")
    assert refused.value.field == "amount"


def test_a_difficulty_the_quote_did_not_know_is_priced_at_todays_pace():
    priced = price_change(
        offer(), agreed_with(offer()), [shot(20, difficulty="rain")], [],
        PACE | {"rain": D(5)}, forecasts,
    )  # fmt: skip
    assert priced.lines[0].amount == D("399.90")  # 4 of 12 hours: 1.333 of 4 days
    with pytest.raises(QuoteError, match="has no pace"):
        change(offer(), [shot(20, difficulty="rain")])


@pytest.mark.parametrize(
    ("agreed", "paid"), [(None, 24), (24, 24), (20, 20), (30, 24)]
)  # grown by 4 on the floor; split, so that half of what was agreed stands elsewhere
def test_what_a_shot_grew_by_is_not_paid_yet(agreed, paid):
    assert pictures_paid(ShotLength(48, 2), agreed) == paid


def test_fewer_days_leave_the_deadline_and_more_move_it_over_weekends():
    week = WorkCalendar(frozenset(range(5)), frozenset(), 7)
    friday = date(2026, 3, 6)
    assert later_deadline(friday, 2, week) == date(2026, 3, 10)
    assert later_deadline(friday, -3, week) == friday


def test_a_change_is_kept_exact():
    priced = change(offer(), [shot(7, difficulty="hard")], [extra_line("Hen", D(4), D(10), "EUR")])
    assert thaw(type(priced), freeze(priced)) == priced


@given(st.integers(1, 120), st.integers(1, 120))
def test_what_is_added_and_cut_again_costs_nothing(more, fewer):
    made = offer()
    added = change(made, [shot(more)])
    cut = change(made, [shot(-more)], before=added.after)
    assert added.totals.gross + cut.totals.gross == 0
    assert cut.after == added.before
    both = change(made, [shot(more), shot(-fewer)])
    assert both.pictures == more - fewer


@given(st.integers(1, 200))
def test_more_pictures_never_cost_less(pictures):
    made = offer()
    less, more = (change(made, [shot(count)]).totals.gross for count in (pictures, pictures + 1))
    assert 0 < less <= more
