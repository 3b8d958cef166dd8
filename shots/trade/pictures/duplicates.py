"""Pictures there are twice: a file copied, a picture taken twice, a pose held on purpose."""

from collections.abc import Sequence

from .clock import gaps, usual_gap
from .facts import Facts

AT_ONCE_S = 2.0  # nobody moves a puppet in less
AT_ONCE_SHARE = 0.2  # of the usual gap


def duplicate_flags(facts: Sequence[Facts], still: Sequence[bool]) -> list[list[dict]]:
    """Duplicate flags of each picture; `still` says nothing moved since the picture before."""
    steps = gaps(facts)
    usual = usual_gap(steps)
    quick = max(AT_ONCE_S, AT_ONCE_SHARE * usual) if usual else AT_ONCE_S
    first_of: dict[str, str] = {}
    flags = []
    for n, picture in enumerate(facts):
        found = []
        original = first_of.setdefault(picture.sha256, picture.name)
        if original != picture.name:
            found.append({"kind": "duplicate", "sub": "copy", "of": original})
        elif n and still[n]:
            of = facts[n - 1].name
            if steps[n] is not None and steps[n] <= quick:
                found.append({"kind": "duplicate", "sub": "double", "of": of})
            else:
                found.append({"kind": "duplicate", "sub": "held", "of": of, "level": "info"})
        flags.append(found)
    return flags
