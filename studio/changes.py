"""Who changed what and when, as people read it, from the history every kept row has.

Each change of a row leaves a record of the whole row. What a person reads of a record is a text by
label; what changed between two records is where those texts differ.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

from django.db import models
from django.utils import timezone
from django.utils.dateparse import parse_datetime

MOST = 300  # records of one row that are read
ONE_ACT = timedelta(seconds=0.5)  # what one save wrote of a row and its parts

# What the machine keeps for itself; `archived_at` is said in words.
SILENT = {"version", "created_at", "position", "archived_at"}


@dataclass(frozen=True)
class Change:
    """One text that became another; "" is nothing."""

    label: str
    before: str
    after: str


@dataclass(frozen=True)
class Moment:
    """What one person did at one moment. `by` is "" where no signed-in person did it."""

    at: datetime
    by: str
    changes: tuple[Change, ...]
    is_first: bool = False


@dataclass(frozen=True)
class Stood:
    """How a row stood once somebody had saved it. `of` is the row, `pk` the record that says so;
    `rows` are texts of what stands under the row, where they are known."""

    at: datetime
    by: str
    of: int
    pk: int
    version: int
    texts: Mapping[str, str]
    rows: Mapping[str, str] | None = None


def stood(row: models.Model, leave_out: Iterable[str] = ()) -> list[Stood]:
    """How a row stood after each of its newest saves, oldest first.

    One query, and one for each kind of row it points at.
    """
    return _read(row.history.all(), leave_out, lambda record: "")


def _read(
    records: models.QuerySet, leave_out: Iterable[str], named: Callable[[models.Model], str]
) -> list[Stood]:
    ordered = records.select_related("history_user").order_by("-history_date", "-history_id")
    newest = list(ordered[:MOST])[::-1]
    skip = SILENT | set(leave_out)
    fields = [
        one for one in records.model.tracked_fields if one.name not in skip and not one.primary_key
    ]
    names = {one.name: _names(one, newest) for one in fields if one.many_to_one}
    return [
        Stood(
            at=record.history_date,
            by=record.history_user.name if record.history_user else "",
            of=record.id,
            pk=record.history_id,
            version=getattr(record, "version", 0),
            texts=_texts(record, fields, names, named(record)),
        )
        for record in newest
    ]


def _texts(
    record: models.Model, fields: list[models.Field], names: Mapping, named: str
) -> dict[str, str]:
    texts = {
        f"{named}{one.verbose_name}": _as_read(one, record, names.get(one.name, {}))
        for one in fields
    }
    if getattr(record, "archived_at", None):
        texts[f"{named}put aside"] = "yes"
    return texts


def _names(one: models.ForeignKey, records: list) -> dict[int, str]:
    wanted = {getattr(record, one.attname) for record in records} - {None}
    found = one.remote_field.model._base_manager.in_bulk(wanted) if wanted else {}
    return {pk: str(target) for pk, target in found.items()}


def _as_read(one: models.Field, record: models.Model, names: Mapping[int, str]) -> str:
    value = getattr(record, one.attname)
    if value is None or value == "":
        return ""
    if one.many_to_one:
        return names.get(value, f"number {value}")
    if one.choices:
        return str(dict(one.flatchoices).get(value, value))
    if one.name.endswith("frames"):
        return f"{value} f"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return f"{timezone.localtime(value):%-d %B %Y, %H:%M}"
    if isinstance(value, date):
        return f"{value:%-d %B %Y}"
    return str(value)


def moments(saves: list[Stood]) -> list[Moment]:
    """What each save of one row changed, oldest first. The first is the making of it."""
    made = [Moment(saves[0].at, saves[0].by, (), is_first=True)] if saves else []
    return made + [
        Moment(after.at, after.by, tuple(_between(before, after)))
        for before, after in pairwise(saves)
    ]


def parts_moments(
    records: models.QuerySet, leave_out: Iterable[str], named: Callable[[models.Model], str]
) -> list[Moment]:
    """The same for all parts of a row, from the records of all; `named` goes before their labels.

    The making of a part is a change, from nothing; 0 is nothing too.
    """
    parts = defaultdict(list)
    for one in _read(records, leave_out, named):
        parts[one.of].append(one)
    found = []
    for saves in parts.values():
        made = saves[0].texts
        nothing = {label: "0" if text == "0" else "" for label, text in made.items()}
        found += moments([replace(saves[0], texts=nothing), *saves])[1:]
    return found


def _between(before: Stood, after: Stood) -> Iterable[Change]:
    yield from _differences(before.texts, after.texts)
    if before.rows is not None and after.rows is not None:
        yield from _differences(before.rows, after.rows)


def _differences(before: Mapping[str, str], after: Mapping[str, str]) -> Iterable[Change]:
    for label in dict.fromkeys((*before, *after)):
        was, now = before.get(label, ""), after.get(label, "")
        if was != now:
            yield Change(label, was, now)


def _chained(found: tuple[Change, ...]) -> tuple[Change, ...]:
    """What went from one text over others to the last is one change."""
    by_label: dict[str, Change] = {}
    for one in found:
        first = by_label.get(one.label, one)
        by_label[one.label] = replace(first, after=one.after)
    return tuple(by_label.values())


def told(found: Iterable[Moment]) -> list[Moment]:
    """Moments newest first; what one save wrote of a row and its parts is one moment."""
    together: list[Moment] = []
    for one in sorted(found, key=lambda moment: moment.at):
        last = together[-1] if together else None
        if last and last.by == one.by and one.at - last.at < ONE_ACT:
            together[-1] = replace(last, at=one.at, changes=_chained(last.changes + one.changes))
        elif one.changes or one.is_first:
            together.append(one)
    return together[::-1]


@dataclass(frozen=True)
class Past:
    """A moment somebody asks for, and the record of how a row stood then."""

    at: datetime
    record: models.Model


def past_of(row: models.Model, text: str) -> Past | None:
    """The moment that a text names, as `datetime.isoformat` writes it; None where there is none.

    Of a moment still to come it is how the row stands now.
    """
    try:
        at = parse_datetime(text)
        if at is None or timezone.is_naive(at):
            return None
        # In a zone of its own a moment may lie before the first day there is, or after the last.
        at = min(at.astimezone(UTC), timezone.now())
    except (ValueError, OverflowError):
        return None
    until = row.history.filter(history_date__lte=at)
    record = until.order_by("-history_date", "-history_id").first()
    return record and Past(at, record)


def as_it_stood(row: models.Model, past: Past | None) -> models.Model:
    """The row with the values it had, to be looked through and saved again; the row itself where no
    moment is asked for. Its version is today's, so two people at once are still told."""
    if past is None:
        return row
    stood = past.record.instance
    stood.version = row.version
    return stood
