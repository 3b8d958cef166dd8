"""Histories from JSON objects, answers to JSON objects; what is wrong is named by its field."""

from datetime import date

from shots.trade.forecast.history import (
    FIVE_DAYS,
    Answer,
    Capture,
    History,
    HistoryError,
    Output,
    PastProduction,
    Session,
    Shot,
)
from studio.trade.calendar import WorkCalendar

LARGEST = 1_000_000_000  # no film has more pictures, and no sum of these overflows
_REQUIRED = object()


def history_from_json(data: object) -> History:
    """Read one history. Raises HistoryError naming the first field that is wrong."""
    record = _Record(data, "")
    past = record.records("past_productions")
    return History(
        **_production(record),
        as_of=record.day("as_of"),
        deadline=record.day("deadline", None),
        past_productions=tuple(
            PastProduction(**_production(one), finished=one.finished()) for one in past
        ),
    )


def answer_to_json(answer: Answer) -> dict:
    """The answer as JSON values: chances become text keys, dates become ISO 8601."""
    needed = answer.pace_needed
    data = {
        "samples": list(answer.samples),
        "chance_of_deadline": answer.chance_of_deadline,
        "finish_dates": {
            str(chance): day and day.isoformat() for chance, day in answer.finish_dates.items()
        },
        "pace_needed": needed
        and {
            "for": needed.chance,
            "factor": needed.factor,
            "pictures_per_hour": dict(needed.pictures_per_hour),
        },
        "quote_sessions": {str(chance): n for chance, n in answer.quote_sessions.items()},
    }
    if answer.notes:
        data["notes"] = list(answer.notes)
    return data


def _production(record: "_Record") -> dict:
    capture = record.record("capture")
    shots = tuple(_shot(one) for one in record.records("shots"))
    seen = set()
    for n, shot in enumerate(shots):
        if shot.code in seen:
            raise HistoryError(
                f"{record.place('shots')}[{n}].code",
                f"{shot.code!r} is there twice; give each shot its own code",
            )
        seen.add(shot.code)
    return {
        "shots": shots,
        "sessions": tuple(_session(one) for one in record.records("sessions")),
        "calendar": _calendar(record.record("calendar")),
        "assumed_pictures_per_hour": _paces(record),
        "fps": record.number("fps", 25, above=0),
        "capture": Capture(
            exposure=capture.number("exposure", 1, above=0), handles=capture.number("handles", 0)
        ),
    }


def _shot(record: "_Record") -> Shot:
    return Shot(
        code=record.text("code"),
        difficulty=record.text("difficulty"),
        setup=record.text("setup", None),
        pictures_budgeted=record.number("pictures_budgeted"),
        pictures_kept=record.number("pictures_kept", 0),
        done=record.truth("done", False),
    )


def _session(record: "_Record") -> Session:
    return Session(
        date=record.day("date"),
        hours=record.number("hours"),
        setup_hours=record.number("setup_hours", 0),
        output=tuple(
            Output(
                shot=one.text("shot"),
                kept=one.number("kept"),
                discarded=one.number("discarded", 0),
            )
            for one in record.records("output")
        ),
    )


def _calendar(record: "_Record") -> WorkCalendar:
    weekdays = record.items("working_weekdays", sorted(FIVE_DAYS.working_weekdays))
    for n, weekday in enumerate(weekdays):
        if isinstance(weekday, bool) or weekday not in range(7):
            raise HistoryError(
                f"{record.place('working_weekdays')}[{n}]",
                f"must be a weekday from 0 (Monday) to 6 (Sunday), got {weekday!r}",
            )
    days_off = [
        _date(day, f"{record.place('days_off')}[{n}]")
        for n, day in enumerate(record.items("days_off", []))
    ]
    hours = record.number("hours_per_day", FIVE_DAYS.hours_per_day, above=0)
    if hours > 24:
        raise HistoryError(record.place("hours_per_day"), f"must be at most 24, got {hours}")
    return WorkCalendar(frozenset(map(int, weekdays)), frozenset(days_off), hours)


def _paces(record: "_Record") -> dict[str, float]:
    paces = record.record("assumed_pictures_per_hour")
    return {name: paces.number(name, above=0) for name in paces.data}


def _date(value: object, place: str) -> date:
    if isinstance(value, str):
        try:
            return date.fromisoformat(value)
        except ValueError:
            pass
    raise HistoryError(place, f'must be a date such as "2026-03-02", got {value!r}')


class _Record:
    """One JSON object and its place in the file, so that every complaint names its field."""

    def __init__(self, data: object, where: str):
        if not isinstance(data, dict):
            raise HistoryError(where or "history", f"must be an object, got {_shown(data)}")
        self.data = data
        self.where = where

    def place(self, key: str) -> str:
        return f"{self.where}.{key}" if self.where else key

    def _value(self, key: str, default: object) -> object:
        value = self.data.get(key)
        if value is not None:
            return value
        if default is _REQUIRED:
            raise HistoryError(self.place(key), "is missing")
        return default

    def text(self, key: str, default: object = _REQUIRED) -> str | None:
        value = self._value(key, default)
        if value is default or isinstance(value, str):
            return value
        raise HistoryError(self.place(key), f"must be text, got {_shown(value)}")

    def truth(self, key: str, default: object = _REQUIRED) -> bool:
        value = self._value(key, default)
        if isinstance(value, bool):
            return value
        raise HistoryError(self.place(key), f"must be true or false, got {_shown(value)}")

    def number(self, key: str, default: object = _REQUIRED, above: float | None = None) -> float:
        """A finite number of 0 or more, or above `above`."""
        value = self._value(key, default)
        wanted = "a number of 0 or more" if above is None else f"a number above {above}"
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise HistoryError(self.place(key), f"must be {wanted}, got {_shown(value)}")
        enough = value >= 0 if above is None else value > above
        if not (enough and value <= LARGEST):  # both fail on NaN
            raise HistoryError(
                self.place(key), f"must be {wanted}, at most {LARGEST:,}, got {value}"
            )
        return value

    def day(self, key: str, default: object = _REQUIRED) -> date | None:
        value = self._value(key, default)
        return value if value is default else _date(value, self.place(key))

    def finished(self) -> date | None:
        """The last day of a finished production; a plain true says only that it is finished."""
        return None if self.data.get("finished") is True else self.day("finished", None)

    def items(self, key: str, default: object = _REQUIRED) -> list:
        value = self._value(key, default)
        if not isinstance(value, list):
            raise HistoryError(self.place(key), f"must be a list, got {_shown(value)}")
        return value

    def record(self, key: str) -> "_Record":
        return _Record(self._value(key, {}), self.place(key))

    def records(self, key: str) -> list["_Record"]:
        return [
            _Record(one, f"{self.place(key)}[{n}]") for n, one in enumerate(self.items(key, []))
        ]


def _shown(value: object) -> str:
    kind = {dict: "an object", list: "a list", str: "text", bool: "true or false"}.get(type(value))
    return f"{kind} ({str(value)[:40]!r})" if kind else repr(value)
