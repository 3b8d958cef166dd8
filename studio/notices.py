"""What needs a hand. Each app registers functions; the Today page asks them all."""

from collections.abc import Callable
from dataclasses import dataclass

from django.http import HttpRequest


@dataclass(frozen=True)
class Notice:
    """One thing that needs a hand: a sentence, where to go, and whether it is wrong or just due."""

    sentence: str
    url: str
    wrong: bool = False


NoticeSource = Callable[[HttpRequest], list[Notice]]
_sources: list[NoticeSource] = []


def source(function: NoticeSource) -> NoticeSource:
    """Register a function that finds what needs a hand for the signed-in person."""
    _sources.append(function)
    return function


def collect(request: HttpRequest) -> list[Notice]:
    """Everything that needs a hand, what is wrong first."""
    found = [notice for find in _sources for notice in find(request)]
    return sorted(found, key=lambda notice: not notice.wrong)
