import copy
import json
import re
from decimal import Decimal as D
from pathlib import Path

import pytest

import clients
from clients.trade.quoting.errors import QuoteError
from clients.trade.quoting.price_file import price_from_json

PROSE = (Path(clients.__file__).parent.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
EXAMPLE = next(
    json.loads(block)
    for block in re.findall(r"```json\n(.*?)```", PROSE, re.DOTALL)
    if '"sequences"' in block
)


def test_the_documented_file_is_priced_as_the_prose_says():
    answer = price_from_json(EXAMPLE)
    figures = re.search(
        r"(\d+) frames,\s+(\d+) pictures, (\d+) set-ups; Puppets ([\d.]+), Clean-up ([\d.]+), "
        r"Sound ([\d.]+), Felt and wire ([\d.]+)\.",
        PROSE,
    ).groups()
    amounts = {line["label"]: line["amount"] for line in answer["lines"]}
    assert figures == ("360", "213", "5", "1281.00", "674.50", "850.00", "128.10")
    assert (answer["frames"], answer["pictures"], answer["setups"]) == (360, 213, 5)
    assert amounts["Puppets"] == "1281.00"
    assert amounts["Clean-up"] == "674.50"
    assert amounts["Sound"] == "850.00"
    assert amounts["Felt and wire"] == "128.10"


def test_days_and_dates_come_from_the_forecast_in_order():
    answer = price_from_json(EXAMPLE)
    assert 0 < answer["days"]["0.5"] <= answer["days"]["0.8"] <= answer["days"]["0.95"]
    dates = answer["finish_dates"]
    assert "2026-03-01" < dates["0.5"] <= dates["0.8"] <= dates["0.95"]
    even, chosen = answer["days"]["0.5"], answer["days"]["0.8"]
    amounts = {line["label"]: D(line["amount"]) for line in answer["lines"]}
    assert amounts["Animation"] == 420 * even
    assert amounts["Contingency"] == 420 * (chosen - even)


def test_what_the_client_sees_and_pays_adds_up():
    answer = price_from_json(EXAMPLE)
    assert "Contingency" not in [line["label"] for line in answer["client_lines"]]
    shown = [D(line["amount"]) for line in answer["client_lines"] if not line["optional"]]
    assert sum(shown) == D(answer["net"])
    assert sum(D(part["amount"]) for part in answer["payment"]) == D(answer["gross"])


def without(key):
    return lambda data: data.pop(key)


def having(key, value):
    return lambda data: data.update({key: value})


def line_having(key, value):
    return lambda data: data["lines"][0].update({key: value})


@pytest.mark.parametrize(
    ("spoil", "field"),
    [
        (without("sequences"), "sequences"),
        (having("sequences", []), "sequences"),
        (having("sequences", [3]), "sequences[0]"),
        (lambda data: data["sequences"][1].pop("label"), "sequences[1].label"),
        (lambda data: data["sequences"][1].update(seconds="long"), "sequences[1].seconds"),
        (lambda data: data["sequences"][1].update(exposure=1.5), "sequences[1].exposure"),
        (lambda data: data["sequences"][1].update(held_seconds=9), "held_seconds"),
        (lambda data: data["sequences"][1].update(difficulty="felted"), "pace"),
        (lambda data: data["sequences"][1].update(difficulty=3), "sequences[1].difficulty"),
        (lambda data: data["sequences"][1].update(colour="red"), "sequences[1].colour"),
        (without("lines"), "lines"),
        (having("lines", []), "lines"),
        (line_having("kind", "catering"), "lines[0].kind"),
        (line_having("basis", "by the mile"), "lines[0].basis"),
        (line_having("rate", 0), "lines[0].rate"),
        (line_having("rate", "NaN"), "lines[0].rate"),
        (line_having("tax_rate", 120), "lines[0].tax_rate"),
        (line_having("hidden", "yes"), "lines[0].hidden"),
        (line_having("of", ["catering"]), "lines[0].of"),
        (line_having("of", 3), "lines[0].of"),
        (without("currency"), "currency"),
        (having("currency", "FELT"), "currency"),
        (having("rate", "fast"), "rate"),
        (without("pace"), "pace"),
        (having("pace", {"easy": 0, "hard": 8}), "pace"),
        (having("pace", [17, 8]), "pace"),
        (having("confidence", 0.7), "confidence"),
        (having("confidence", "high"), "confidence"),
        (without("day_before"), "day_before"),
        (having("calendar", {"days_off": ["soon"]}), "calendar"),
        (having("calendar", {"working_weekdays": 5}), "calendar"),
        (having("calendar", {"working_weekdays": [7]}), "calendar"),
        (having("calendar", {"hours_per_day": 0}), "calendar"),
        (having("payment", [{"milestone": "now", "percent": 130}]), "payment[0].percent"),
        (having("payment", [{"milestone": "now", "percent": 30}]), "parts"),
        (having("revision_rounds", "two"), "revision_rounds"),
    ],
)
def test_a_file_with_a_mistake_is_refused_naming_its_place(spoil, field):
    data = copy.deepcopy(EXAMPLE)
    spoil(data)
    with pytest.raises(QuoteError) as refused:
        price_from_json(data)
    assert refused.value.field == field
    assert refused.value.sentence


@pytest.mark.parametrize("data", [None, [], "film", 3])
def test_a_file_that_holds_no_object_is_refused(data):
    with pytest.raises(QuoteError):
        price_from_json(data)
