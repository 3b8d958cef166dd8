"""The client's answer to a quote or a change order: it closes once."""

from datetime import date, datetime

from clients.models.sent_paper import Offered
from studio.errors import NotPossible
from studio.services import archive


def refuse_unless_open(paper: Offered, today: date) -> None:
    """Raise NotPossible for a paper that waits for no acceptance."""
    if paper.status == Offered.Status.ACCEPTED:
        raise NotPossible(f"{paper.name} was accepted already: nothing changed just now.")
    if paper.has_lapsed(today):
        raise NotPossible(f"{paper.name} is not valid any more: ask for a new one.")
    if paper.status != Offered.Status.SENT:
        raise NotPossible(f"{paper.name} is {paper.get_status_display()}: it cannot be accepted.")


def put_aside(paper: Offered, now: datetime) -> None:
    """Archive a locked paper. Raises NotPossible for one that waits for its answer or is agreed."""
    if paper.status in (Offered.Status.SENT, Offered.Status.ACCEPTED):
        raise NotPossible(f"{paper.name} is {paper.get_status_display()}: it stays in sight.")
    archive(paper, now)


def close(paper: Offered, status: str, now: datetime, words: str = "") -> Offered:
    """Write the answer on a locked paper. Raises NotPossible where it waits for none."""
    if paper.status != Offered.Status.SENT:
        raise NotPossible(f"{paper.name} is {paper.get_status_display()} already.")
    paper.status, paper.answered_at, paper.answer = status, now, words
    paper.version += 1
    paper.save(update_fields=["status", "answered_at", "answer", "version"])
    return paper
