"""Who changed a quote or a file promised, what, and when."""

from clients.models import Deliverable, DeliverableCheck, Quote
from studio import changes
from studio.changes import Moment, Stood

OF_QUOTE = ("year", "number", "revision", "replaces", "production")
OF_FILE = ("production",)


def quote_saves(quote: Quote) -> list[Stood]:
    """How a quote stood after each of its saves, its rows left out."""
    return changes.stood(quote, OF_QUOTE)


def deliverable_moments(file: Deliverable) -> list[Moment]:
    """What happened to a file promised and to its checks, newest first."""
    of_checks = changes.parts_moments(
        DeliverableCheck.history.filter(deliverable=file),
        ("deliverable",),
        lambda record: f"“{record.text}” ",
    )
    return changes.told(changes.moments(changes.stood(file, OF_FILE)) + of_checks)
