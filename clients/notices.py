"""What at the desk needs a hand, for the Today page."""

from datetime import timedelta

from django.urls import reverse

from clients.models import Quote
from studio.notices import Notice, source

# Time enough for one more call before a quote is no longer valid.
SOON = timedelta(days=5)


@source
def quotes_about_to_lapse(request) -> list[Notice]:
    """Quotes whose answer is due; the owner's business only."""
    if not request.user.is_owner:
        return []
    due = Quote.objects.waiting().filter(
        valid_until__gte=request.today, valid_until__lte=request.today + SOON
    )
    return [
        Notice(
            f"{quote.name} for {quote.client} is valid until {quote.valid_until:%-d %B}: ask for "
            "an answer, or make the next revision.",
            reverse("clients:quote", args=[quote.pk]),
        )
        for quote in due.select_related("client")
    ]
