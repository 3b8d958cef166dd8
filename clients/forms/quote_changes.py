"""Who changed what in a quote, the rows of its page included; only its forms can read those."""

from dataclasses import replace

from clients.forms.quote_sheet import sheet_of, typed_sheet
from clients.models import Quote
from clients.queries.changes import quote_saves
from clients.queries.quotes import draft_of
from shots.models import Difficulty
from studio.changes import Moment, moments, told


def quote_moments(quote: Quote) -> list[Moment]:
    """What happened to a quote (read with its parts) and to the rows of its page, newest first."""
    difficulties = [row.name for row in Difficulty.objects.all()]
    kept = {
        one.version: typed_sheet(one.entries, difficulties).said
        for one in quote.kept_versions.all()
    }
    # Saves after the last one that was saved over left the rows alone: they are those of today.
    today, last = sheet_of(draft_of(quote), difficulties).said, max(kept, default=0)
    saves = [
        replace(one, rows=today if one.version > last else kept.get(one.version))
        for one in quote_saves(quote)
    ]
    return told(moments(saves))
