"""Figures put away as JSON values and taken out again as the same dataclasses, exact to the unit.

Numbers of money and lengths become text, so that no decimal is lost on the way.
"""

import types
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from functools import cache
from typing import Any, Union, get_args, get_origin, get_type_hints


def freeze(value: object) -> Any:
    """A value of dataclasses, numbers, dates, tuples and mappings as JSON values."""
    if is_dataclass(value):
        return {field.name: freeze(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Decimal | Fraction):
        return str(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {str(key): freeze(one) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return [freeze(one) for one in value]
    return value


def thaw(kind: Any, value: Any) -> Any:
    """What `freeze` made of a value of the type `kind`, as that value again.

    A field that was added since the value was frozen takes its default.
    """
    if value is None:
        return None
    origin = get_origin(kind)
    if origin in (Union, types.UnionType):
        return thaw(_member(kind, value), value)
    if origin is tuple:
        inner = get_args(kind)
        each = inner[:1] * len(value) if inner[-1] is ... else inner
        return tuple(thaw(one, part) for one, part in zip(each, value, strict=True))
    if origin is not None and issubclass(origin, Mapping):
        of_key, of_value = get_args(kind)
        return {of_key(key): thaw(of_value, one) for key, one in value.items()}
    if is_dataclass(kind):
        hints = _hints(kind)
        return kind(**{name: thaw(hints[name], one) for name, one in value.items()})
    if kind in (date, datetime):
        return kind.fromisoformat(value)
    return kind(value)


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)


def _member(kind: Any, value: Any) -> Any:
    """The member of a union a frozen value belongs to: a dataclass for an object."""
    members = [one for one in get_args(kind) if one is not type(None)]
    objects = [one for one in members if is_dataclass(one)]
    return objects[0] if objects and isinstance(value, dict) else members[0]
