"""The Today page asks each app for its section, so that the house need not know the floor."""

from collections.abc import Callable
from dataclasses import dataclass

from django.http import HttpRequest


@dataclass(frozen=True)
class Section:
    """One part of the Today page: a template and what it prints."""

    template: str
    content: object


_builders: list[Callable[[HttpRequest], Section | None]] = []


def section(builder: Callable[[HttpRequest], Section | None]):
    """Register a function that builds a section for the signed-in person, or None for nothing."""
    _builders.append(builder)
    return builder


def sections(request: HttpRequest) -> list[Section]:
    """The sections to print, in the order their apps registered them."""
    return [built for build in _builders if (built := build(request)) is not None]
