"""Rows as text that every engine understands: a JSON object a row, a gzip file for some hundred.

Left out on purpose: who is signed in and who tried to, what waits to be done, and what Django
keeps about its own models. All of it is made anew; none of it is the studio's work. What points at
it points at nothing afterwards.
"""

import base64
import gzip
import io
import json
from collections.abc import Iterable, Iterator
from datetime import date, datetime, time
from decimal import Decimal
from pathlib import Path

from django.apps import apps
from django.conf import settings
from django.db import models

LEFT_OUT = {"studio.longwork", "studio.signedin"}
SECOND_FACTORS = "otp_totp"  # another's app, but without them a password alone would let in
ROWS_AT_ONCE = 100
CHUNK = 4 * 1024 * 1024  # bytes of text after which the next file begins
LARGEST_CHUNK = 256 * 1024 * 1024  # bytes of text taken from one file


class RowsRefused(ValueError):
    """Rows that cannot be read, or do not fit; the message says which and why."""


def kept_apps() -> set[str]:
    """Labels of the apps whose rows are the studio's: those that stand beside manage.py, mostly."""
    beside = {
        config.label
        for config in apps.get_app_configs()
        if Path(config.path).parent == settings.BASE_DIR
    }
    return beside | {SECOND_FACTORS}


def kept_models(registry=apps) -> list[type[models.Model]]:
    """Every model whose rows are backed up, histories and links between rows among them."""
    ours = kept_apps()
    return sorted(
        (
            model
            for model in registry.get_models(include_auto_created=True)
            if model._meta.app_label in ours and model._meta.label_lower not in LEFT_OUT
        ),
        key=lambda model: model._meta.label_lower,
    )


def points_outside(model: type[models.Model]) -> list[str]:
    """Columns that name a row which is left out, as a film names the work that checks it. They
    are written empty."""
    return [
        field.attname
        for field in model._meta.concrete_fields
        if field.related_model and field.related_model._meta.label_lower in LEFT_OUT
    ]


def chunks(model: type[models.Model], alias: str) -> Iterator[tuple[bytes, int]]:
    """All rows of a model in the order of their keys, as (gzip file, number of rows)."""
    names = [field.attname for field in model._meta.concrete_fields]
    emptied = dict.fromkeys(points_outside(model))
    rows = model._base_manager.using(alias).order_by("pk").values_list(*names)
    lines, size = [], 0
    for row in rows.iterator(chunk_size=ROWS_AT_ONCE):
        line = json.dumps(
            dict(zip(names, row, strict=True)) | emptied, default=_plain, ensure_ascii=False
        ).encode()
        lines.append(line)
        size += len(line)
        if size >= CHUNK:
            yield _packed(lines), len(lines)
            lines, size = [], 0
    if lines:
        yield _packed(lines), len(lines)


def load_chunk(model: type[models.Model], packed: io.RawIOBase) -> int:
    """Write the rows of one file into the database; returns how many.

    Raises RowsRefused for what is no such file or does not fit the model.
    """
    count = 0
    for some in _batches(_lines(packed)):
        loaded = [_row(model, line) for line in some]
        model._base_manager.bulk_create(loaded)
        count += len(loaded)
    return count


def _plain(value):
    """What JSON has no word for, so that the field's own `to_python` reads it back exactly."""
    if isinstance(value, bytes | memoryview):
        return base64.b64encode(value).decode()
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, Decimal):
        return str(value)
    raise TypeError(f"{type(value).__name__} has no form in a backup yet.")


def _packed(lines: list[bytes]) -> bytes:
    # No time inside: the same rows make the same bytes.
    return gzip.compress(b"\n".join(lines) + b"\n", compresslevel=5, mtime=0)


def _lines(packed: io.RawIOBase) -> Iterator[bytes]:
    """The lines of a gzip file, however much it claims to hold."""
    left = LARGEST_CHUNK
    try:
        with gzip.open(packed) as text:
            while line := text.readline(left + 1):
                left -= len(line)
                if left < 0:
                    raise RowsRefused(
                        f"A file of rows unpacks to more than {LARGEST_CHUNK >> 20} MiB."
                    )
                yield line
    except (gzip.BadGzipFile, EOFError, ValueError) as error:
        if isinstance(error, RowsRefused):
            raise
        raise RowsRefused(f"A file of rows cannot be unpacked: {error}") from error


def _batches(lines: Iterable[bytes]) -> Iterator[list[bytes]]:
    some = []
    for line in lines:
        some.append(line)
        if len(some) == ROWS_AT_ONCE:
            yield some
            some = []
    if some:
        yield some


def _row(model: type[models.Model], line: bytes) -> models.Model:
    label = model._meta.label
    try:
        values = json.loads(line)
        fields = {field.attname: field for field in model._meta.concrete_fields}
        if set(values) != set(fields):
            odd = ", ".join(sorted(set(values) ^ set(fields)))
            raise RowsRefused(f"A row of {label} does not fit; odd are: {odd}.")
        return model(**{name: fields[name].to_python(value) for name, value in values.items()})
    except RowsRefused:
        raise
    except Exception as error:  # whatever a made-up row brings a field to
        raise RowsRefused(f"A row of {label} cannot be read: {error}") from error
