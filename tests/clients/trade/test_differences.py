from dataclasses import replace
from decimal import Decimal as D
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clients.trade.differences import compare
from clients.trade.quoting.lines import LineKind
from clients.trade.quoting.option import Option, Sequence
from clients.trade.quoting.pricing import price_option
from clients.trade.quoting.sentences import assumptions, option_difference
from tests.clients.trade.films import (
    EVERY_KIND_OF_LINE,
    FILM,
    OPENING,
    PACE,
    a_day_for_seven_hours,
    line,
)


def priced(option=FILM, lines=EVERY_KIND_OF_LINE):
    return price_option(option, lines, PACE, a_day_for_seven_hours, currency="EUR")


@given(st.permutations(EVERY_KIND_OF_LINE[:8]))
def test_a_revision_with_no_change_has_no_difference(lines):
    found = compare(priced(lines=lines), priced(lines=lines))
    assert (found.lines, found.sequences) == ((), ())
    assert (found.days_even, found.days_chosen, found.pictures) == (0, 0, 0)
    assert found.totals.gross == 0


def test_lines_added_changed_renamed_and_taken_away_are_named():
    before = [
        line("Ada"),
        line("Edit", LineKind.EDIT, quantity=D(2)),
        line("Ink", LineKind.OTHER, quantity=D(1)),
    ]
    after = [
        line("Ada", rate=D(450)),
        line("Picture edit", LineKind.EDIT, quantity=D(2)),
        line("Sound", LineKind.SOUND, quantity=D(1)),
    ]
    found = compare(priced(lines=before), priced(lines=after))
    assert [(one.label, one.change, one.words) for one in found.lines] == [
        ("Ada", D(150), ("rate: 400 → 450", "price: 400 → 450", "amount: 1200.00 → 1350.00")),
        ("Picture edit", D(0), ("label: Edit → Picture edit",)),
        ("Sound", D(400), ("added",)),
        ("Ink", D(-400), ("taken away",)),
    ]


def test_a_change_order_is_priced_by_what_it_changes():
    longer = replace(OPENING, seconds=D(15))
    coda = Sequence("Coda", D(2), 2, "easy", setups=1)
    changed = Option(FILM.label, FILM.rate, (longer, coda))
    lines = [
        line(tax_rate=D(20)),
        line("Contingency", LineKind.CONTINGENCY, rate=None, tax_rate=D(20)),
    ]
    found = compare(priced(FILM, lines), priced(changed, lines))
    assert [(one.label, one.frames, one.pictures, one.words) for one in found.sequences] == [
        ("Opening", 120, 60, ("seconds: 10 → 15",)),
        ("Coda", 48, 24, ("added",)),
        ("Chase", -120, -128, ("cut",)),
    ]
    # 21 hours become 9.94, 169 pictures at 17 an hour: 3 days become 2, chosen 5 become 3.
    assert (found.pictures, found.days_even, found.days_chosen) == (-44, -1, -2)
    assert (found.totals.net, found.totals.tax, found.totals.gross) == (D(-800), D(-160), D(-960))


def film(rate, *sequences):
    return priced(Option("film", Fraction(rate), sequences), [line()])


@pytest.mark.parametrize(
    ("first", "other", "words"),
    [
        (
            film(12, Sequence("a", D(10), 1, "easy")),
            film(24, Sequence("a", D(10), 2, "easy")),
            "24 on twos instead of 12 on ones: the same pictures, 0 days more.",
        ),
        (
            film(24, Sequence("a", D(10), 2, "easy")),
            film(24, Sequence("a", D(8), 2, "easy")),
            # Promised: 120 pictures / 17 an hour × 3/14 = 1.51 days, and 96 / 17 × 3/14 = 1.21.
            "8 s 00 f instead of 10 s 00 f: 24 pictures fewer, 0 days more.",
        ),
        (
            film(24, Sequence("a", D(10), 2, "easy")),
            film(24, Sequence("a", D(10), 2, "hard", setups=2)),
            "2 set-ups instead of 1 set-up, all hard instead of all easy: "
            "the same pictures, 2 days more.",  # 120 / 8 × 3/14 = 3.21 days
        ),
        (
            film(24, Sequence("a", D(10), 2, "easy")),
            film(24, Sequence("a", D(5), 2, "easy"), Sequence("b", D(5), 1, "easy", setups=0)),
            "24 frames a second, 5 s on twos and 5 s on ones instead of 24 on twos: "
            "60 pictures more, 1 day more.",  # 180 / 17 × 3/14 = 2.27 days
        ),
        (
            film(24, Sequence("a", D(10), 2, "easy")),
            film(24, Sequence("b", D(10), 2, "easy")),
            "The same film: the same pictures, 0 days more.",
        ),
    ],
)
def test_the_difference_between_options_is_named_in_words(first, other, words):
    assert option_difference(first, other) == words


def test_the_assumptions_are_written_out():
    assert assumptions(priced(), revision_rounds=2)[:7] == (
        "The film lasts 15 s 00 f at 24 frames per second.",
        "It is animated 10 s on twos and 5 s on ones: 213 pictures in all.",
        "Of this, nothing moves for 2 s and 1 s repeat pictures taken already.",
        "5 set-ups of camera, set and lamps are included.",
        "At most 2 characters on screen at a time.",
        "Days of shooting planned: 5.",
        "Use: online and cinema, Europe, two years. Other use is agreed and paid for separately.",
    )


@pytest.mark.parametrize(
    ("rounds", "sentence"),
    [
        (0, "No revision rounds are included."),
        (1, "1 revision round is included."),
        (3, "3 revision rounds are included."),
    ],
)
def test_revision_rounds_are_counted(rounds, sentence):
    assert sentence in assumptions(priced(), rounds)


def test_a_film_off_its_runtime_says_so():
    short = replace(FILM, runtime=D("15.5"))
    sentence = "The sequences come to 0 s 12 f under the runtime asked for, 15.5 s."
    assert sentence in assumptions(priced(short), 2)
