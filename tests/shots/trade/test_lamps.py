"""Lamp lists and the circuit."""

import pytest

from shots.trade.lamps import LampError, LampLine, load, parse_lamps, total_watts


@pytest.mark.parametrize(
    ("line", "lamp"),
    [
        ("Key 650 W", LampLine("Key", 650)),
        ("Key 650W", LampLine("Key", 650)),
        ("Key, 650", LampLine("Key", 650)),
        ("Back light left: 0.3 kW", LampLine("Back light left", 300)),
        ("Fill 1,2 kW", LampLine("Fill", 1200)),
        ("Λάμπα 40 w", LampLine("Λάμπα", 40)),
        ("Panel 2 18 W", LampLine("Panel 2", 18)),
    ],
)
def test_a_lamp_line_is_a_name_and_watts(line, lamp):
    assert parse_lamps(line) == (lamp,)


def test_lines_are_read_in_order_and_empty_ones_skipped():
    lamps = parse_lamps("Key 650 W\r\n\r\n  Fill 300 W  \n")
    assert lamps == (LampLine("Key", 650), LampLine("Fill", 300))
    assert total_watts(lamps) == 950
    assert parse_lamps("") == ()


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("Key 650 W\nFill", "Line 2, “Fill”"),
        ("650 W", "Line 1"),
        ("Key -650 W", "Line 1"),
        ("Key 0 W", "1 to 20000 W"),
        ("Key " + "9" * 400 + " W", "1 to 20000 W"),
        ("x" * 81 + " 5 W", "80 letters"),
        ("Key 5 W\n" * 61, "60 at most"),
    ],
)
def test_a_bad_lamp_line_is_refused_in_words(text, says):
    with pytest.raises(LampError, match=says):
        parse_lamps(text)


# NFPA 70 210.19, 210.20: a continuous load fills 80 % of its circuit at most.
@pytest.mark.parametrize(("amps", "limit"), [(15, 1440), (20, 1920)])
def test_a_circuit_carries_80_percent_for_hours(amps, limit):
    assert load(limit, 120, amps).continuous_watts == limit
    assert not load(limit, 120, amps).is_over
    assert load(limit + 1, 120, amps).is_over


def test_watts_over_volts_are_amperes():
    # P = V·I. A UK plug: 13 A × 230 V = 2990 W (fire-service guides).
    full = load(2990, 230, 13)
    assert full.drawn_amps == pytest.approx(13)
    assert full.share == pytest.approx(1)


def test_the_sentence_gives_the_figures_and_defers():
    calm = load(950, 230, 16).sentence
    assert "950 W draw 4.1 A at 230 V, 26 % of a 16 A circuit" in calm
    assert "licensed electrician" in calm
    assert "spread the lamps" not in calm
    assert "spread the lamps" in load(3000, 230, 16).sentence


@pytest.mark.parametrize("figures", [(-1, 230, 16), (100, 0, 16), (100, 230, 0)])
def test_an_impossible_circuit_is_refused(figures):
    with pytest.raises(LampError):
        load(*figures)
