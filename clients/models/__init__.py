"""What is stored of the desk."""

from clients.models.client import Client, Commission, Contact
from clients.models.deliverable import Deliverable, DeliverableCheck
from clients.models.private_link import PrivateLink
from clients.models.quote import (
    Acceptance,
    ClientLink,
    DayRate,
    LineTemplate,
    Quote,
    QuoteLine,
    QuoteOption,
    QuotePayment,
    QuoteSequence,
    SentQuote,
)

__all__ = [
    "Acceptance",
    "Client",
    "ClientLink",
    "Commission",
    "Contact",
    "DayRate",
    "Deliverable",
    "DeliverableCheck",
    "LineTemplate",
    "PrivateLink",
    "Quote",
    "QuoteLine",
    "QuoteOption",
    "QuotePayment",
    "QuoteSequence",
    "SentQuote",
]
