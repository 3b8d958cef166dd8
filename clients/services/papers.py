"""Keeping a paper as it leaves the house."""

import hashlib

from clients.models.sent_paper import KeptPaper
from clients.trade.frozen import freeze


def keep_paper(
    kind: type[KeptPaper], pdf: bytes, figures: object, paper: object, **of
) -> KeptPaper:
    """Keep a PDF with the sum of its bytes, what it comes to, and what it says. `of` names whose
    paper it is."""
    return kind.objects.create(
        pdf=pdf,
        sha256=hashlib.sha256(pdf).hexdigest(),
        figures=freeze(figures),
        paper=freeze(paper),
        **of,
    )
