"""What the log says, and what it never says. Used by the settings: no models here."""

import logging

links = logging.getLogger("studio.links")


def page_of(request) -> str:
    """The pattern of the address, as `quotes/by-link/<str:secret>/`: no secret and no name."""
    match = getattr(request, "resolver_match", None)
    return match.route or "/" if match else "no such address"


def note_private_address(kind: str, link: int | None) -> None:
    """Log that a private address of a kind, such as `deliverylink`, was opened, and which by its
    key in the database, never by its secret; None where the address opens nothing."""
    if link is None:
        links.warning("private address tried in vain", extra={"kind": kind})
    else:
        links.info("private address opened", extra={"kind": kind, "link": link})


class WithoutAddresses(logging.Filter):
    """Puts the page's pattern where Django writes the address that was asked for."""

    def filter(self, record: logging.LogRecord) -> bool:
        request = getattr(record, "request", None)
        if request is not None and hasattr(request, "path"):
            page, path = page_of(request), request.path
            if isinstance(record.args, tuple):
                record.args = tuple(page if value == path else value for value in record.args)
            record.page = page
            del record.request
        return True
