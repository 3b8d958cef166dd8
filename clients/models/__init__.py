"""What is stored of the desk."""

from clients.models.change_order import (
    ChangeAcceptance,
    ChangeLine,
    ChangeOrder,
    ChangeOrderLink,
    SentChangeOrder,
    ShotChange,
)
from clients.models.client import Client, Commission, Contact
from clients.models.deliverable import Deliverable, DeliverableCheck
from clients.models.delivery import (
    AcceptedException,
    ClientAnswer,
    DeliveredFile,
    DeliveredVersion,
    Delivery,
    DeliveryLink,
    FileCheck,
)
from clients.models.earnings import ActualCost, FilmAccount
from clients.models.invoice import Invoice, InvoiceLine, InvoicePart, IssuedInvoice, Payment
from clients.models.private_link import PrivateLink
from clients.models.quote import (
    Acceptance,
    ClientLink,
    DayRate,
    DraftKept,
    LineTemplate,
    Quote,
    QuoteLine,
    QuoteOption,
    QuotePayment,
    QuoteSequence,
    SentQuote,
)
from clients.models.specification import StudioSpecification

__all__ = [
    "Acceptance",
    "AcceptedException",
    "ActualCost",
    "ChangeAcceptance",
    "ChangeLine",
    "ChangeOrder",
    "ChangeOrderLink",
    "Client",
    "ClientAnswer",
    "ClientLink",
    "Commission",
    "Contact",
    "DayRate",
    "Deliverable",
    "DeliverableCheck",
    "DeliveredFile",
    "DeliveredVersion",
    "Delivery",
    "DeliveryLink",
    "DraftKept",
    "FileCheck",
    "FilmAccount",
    "Invoice",
    "InvoiceLine",
    "InvoicePart",
    "IssuedInvoice",
    "LineTemplate",
    "Payment",
    "PrivateLink",
    "Quote",
    "QuoteLine",
    "QuoteOption",
    "QuotePayment",
    "QuoteSequence",
    "SentChangeOrder",
    "SentQuote",
    "ShotChange",
    "StudioSpecification",
]
