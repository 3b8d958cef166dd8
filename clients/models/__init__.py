"""What is stored of the desk."""

from clients.models.client import Client, Commission, Contact
from clients.models.deliverable import Deliverable, DeliverableCheck

__all__ = ["Client", "Commission", "Contact", "Deliverable", "DeliverableCheck"]
