"""A price asked for and answered as JSON objects, without a database."""

from collections.abc import Mapping
from dataclasses import MISSING, fields
from datetime import date
from decimal import Decimal, InvalidOperation

from clients.trade.payment import PaymentPart, payment_amounts
from clients.trade.quoting.backwards import one_more_second, usual_exposure
from clients.trade.quoting.client_view import client_lines
from clients.trade.quoting.days import Forecasts, Studio, forecasts_of, sessions_by
from clients.trade.quoting.errors import QuoteError
from clients.trade.quoting.lines import Basis, Licence, Line, LineKind
from clients.trade.quoting.option import Option, Sequence
from clients.trade.quoting.pricing import USUAL_CONFIDENCE, PricedOption, price_option
from clients.trade.quoting.sentences import assumptions
from clients.trade.quoting.three_point import ThreePoint
from shots.trade.forecast.history import FIVE_DAYS
from studio.trade.calendar import WorkCalendar
from studio.trade.timecode import RateError, parse_rate

# Names in a file are plain words, so that it can be typed on any keyboard.
_BASES = {
    "days": Basis.DAYS,
    "quantity": Basis.QUANTITY,
    "percent": Basis.PERCENT,
    "fixed": Basis.FIXED,
}
_KINDS = {str(kind): kind for kind in LineKind}
_WHOLE = {"exposure", "holds", "handles", "setups", "characters"}
_EXACT = {"seconds", "held_seconds", "reused_seconds", "rate", "tax_rate", "pictures_per_hour"}
_EXACT |= {"percent", "amount", "optimistic", "likely", "pessimistic"}
_TEXT = {"label", "difficulty", "unit", "group", "milestone", "territory", "media", "term"}
_TRUTH = {"hidden", "optional"}


def price_from_json(data: object) -> dict:
    """Price the option in `data` and answer in JSON values; amounts are text, exact to the unit.

    Raises QuoteError naming the place in the file.
    """
    data = _object(data, "file")
    pace = {name: _number(value, f"pace.{name}") for name, value in _part(data, "pace").items()}
    option = Option(
        label=str(data.get("label", "film")),
        rate=_rate(data.get("rate")),
        sequences=tuple(
            _sequence(one, f"sequences[{n}]") for n, one in enumerate(_list(data, "sequences"))
        ),
        runtime=_number(data["runtime"], "runtime") if "runtime" in data else None,
    )
    studio = Studio(pace, _day_before(data), _calendar(_part(data, "calendar")))
    forecasts = forecasts_of(studio)
    priced = price_option(
        option,
        [_line(one, f"lines[{n}]") for n, one in enumerate(_list(data, "lines"))],
        pace,
        sessions_by(forecasts),
        currency=str(data.get("currency", "")),
        confidence=float(_number(data.get("confidence", USUAL_CONFIDENCE), "confidence")),
    )
    parts = [
        _built(PaymentPart, one, f"payment[{n}]")
        for n, one in enumerate(_list(data, "payment", optional=True))
    ]
    return _answer(priced, parts, pace, forecasts, _whole(data.get("revision_rounds", 2)))


def _answer(
    priced: PricedOption,
    parts: list[PaymentPart],
    pace: Mapping[str, Decimal],
    forecasts: Forecasts,
    rounds: int,
) -> dict:
    work, sums = priced.work, priced.totals
    dates = forecasts(work.float_hours, work.setups).finish_dates
    exposure = usual_exposure(priced.option)
    answer = {
        "label": priced.option.label,
        "frames": work.frames,
        "pictures": work.pictures,
        "setups": work.setups,
        "hours": {name: round(value, 2) for name, value in work.float_hours.items()},
        "days": {f"{chance:g}": days for chance, days in priced.days.at.items()},
        "finish_dates": {f"{chance:g}": day and day.isoformat() for chance, day in dates.items()},
        "currency": priced.currency,
        "lines": [
            {
                "label": one.line.label,
                "kind": one.line.kind.value,
                "quantity": None if one.quantity is None else str(one.quantity),
                "price": None if one.price is None else str(one.price),
                "amount": str(one.amount),
                "optional": one.line.optional,
                "hidden": one.line.hidden,
            }
            for one in priced.lines
        ],
        "client_lines": [
            {"label": one.label, "amount": str(one.amount), "optional": one.optional}
            for one in client_lines(priced.lines)
        ],
        "net": str(sums.net),
        "taxes": [
            {"rate": str(part.rate), "base": str(part.base), "tax": str(part.tax)}
            for part in sums.taxes
        ],
        "gross": str(sums.gross),
        "one_more_second": {
            name: str(cost) for name, cost in one_more_second(priced, pace, exposure).items()
        },
        "assumptions": list(assumptions(priced, rounds)),
    }
    if parts:
        amounts = payment_amounts(sums.gross, parts, priced.currency)
        answer["payment"] = [
            {"milestone": part.milestone, "amount": str(amount)}
            for part, amount in zip(parts, amounts, strict=True)
        ]
    return answer


def _sequence(data: object, place: str) -> Sequence:
    return _built(Sequence, data, place)


def _line(data: object, place: str) -> Line:
    data = dict(_object(data, place))
    data["kind"] = _one_of(data.get("kind"), _KINDS, f"{place}.kind")
    data["basis"] = _one_of(data.get("basis"), _BASES, f"{place}.basis")
    data.setdefault("rate", None)
    if "of" in data:
        if not isinstance(data["of"], list):
            raise QuoteError(f"{place}.of", "“of” must be a list of kinds in square brackets.")
        data["of"] = tuple(_one_of(one, _KINDS, f"{place}.of") for one in data["of"])
    if data.get("licence") is not None:
        data["licence"] = _built(Licence, data["licence"], f"{place}.licence")
    if isinstance(data.get("quantity"), dict):
        data["quantity"] = _built(ThreePoint, data["quantity"], f"{place}.quantity")
    elif data.get("quantity") is not None:
        data["quantity"] = _number(data["quantity"], f"{place}.quantity")
    return _built(Line, data, place)


def _built(kind: type, data: object, place: str):
    """A dataclass from an object; every complaint names the place in the file."""
    data = _object(data, place)
    known = {field.name: field for field in fields(kind)}
    for name in data:
        if name not in known:
            raise QuoteError(
                f"{place}.{name}", f"“{name}” is not known: choose from {', '.join(known)}."
            )
    for name, field in known.items():
        if name not in data and field.default is MISSING:
            raise QuoteError(f"{place}.{name}", f"“{name}” is missing: add it.")
    values = {name: _value(name, value, f"{place}.{name}") for name, value in data.items()}
    try:
        return kind(**values)
    except QuoteError as error:
        raise QuoteError(f"{place}.{error.field}", error.sentence) from error


def _value(name: str, value: object, place: str) -> object:
    if value is None:
        return None
    if name in _WHOLE:
        return _whole(value, place)
    if name in _EXACT:
        return _number(value, place)
    if name in _TEXT and not isinstance(value, str):
        raise QuoteError(place, f"{value!r} is not text: put it in quotes.")
    if name in _TRUTH and not isinstance(value, bool):
        raise QuoteError(place, f"{value!r} is neither true nor false: write one of them.")
    return value


def _number(value: object, place: str) -> Decimal:
    """An exact number; one written as text keeps its decimals."""
    if isinstance(value, int | float | str) and not isinstance(value, bool):
        try:
            number = Decimal(str(value))
        except InvalidOperation:
            number = Decimal("NaN")
        if number.is_finite():
            return number
    raise QuoteError(place, f"{value!r} is not a number: write one such as 12.5.")


def _whole(value: object, place: str = "revision_rounds") -> int:
    if isinstance(value, int) and not isinstance(value, bool):
        return value
    raise QuoteError(place, f"{value!r} is not a whole number: write one such as 2.")


def _rate(value: object):
    try:
        return parse_rate(str(value if value is not None else ""))
    except RateError as error:
        raise QuoteError("rate", str(error)) from error


def _day_before(data: Mapping) -> date:
    try:
        return date.fromisoformat(str(data.get("day_before")))
    except ValueError as error:
        raise QuoteError(
            "day_before",
            f"{data.get('day_before')!r} is not a date: write the day before shooting starts, "
            "such as 2026-03-01.",
        ) from error


def _calendar(data: Mapping) -> WorkCalendar:
    try:
        return WorkCalendar(
            frozenset(data.get("working_weekdays", FIVE_DAYS.working_weekdays)),
            frozenset(date.fromisoformat(day) for day in data.get("days_off", [])),
            float(data.get("hours_per_day", FIVE_DAYS.hours_per_day)),
        )
    except (TypeError, ValueError) as error:
        raise QuoteError("calendar", f"The calendar cannot be read: {error}") from error


def _one_of(value: object, choices: Mapping[str, object], place: str):
    if isinstance(value, str) and value in choices:
        return choices[value]
    raise QuoteError(place, f"{value!r} is not one of {', '.join(choices)}: choose one.")


def _object(value: object, place: str) -> Mapping:
    if not isinstance(value, dict):
        raise QuoteError(place, f"{place} must be an object in curly brackets.")
    return value


def _part(data: Mapping, name: str) -> Mapping:
    return _object(data.get(name, {}), name)


def _list(data: Mapping, name: str, optional: bool = False) -> list:
    value = data.get(name, [] if optional else None)
    if not isinstance(value, list):
        raise QuoteError(name, f"“{name}” must be a list in square brackets.")
    return value
