"""Shot codes: what they may look like, and the next one to offer."""

import re
from collections.abc import Collection, Sequence

LONGEST_CODE = 20
CODE_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9_-]*$"
CODE_RULE = "letters A–Z, digits, - and _ only, starting with a letter or digit"
# Numbering in tens leaves room for a shot thought of later (common practice, no source).
STEP = 10


def is_code(text: str) -> bool:
    """Whether a set-up or shot may carry this code, which also names files."""
    return len(text) <= LONGEST_CODE and re.fullmatch(CODE_PATTERN, text) is not None


def next_code(codes: Sequence[str]) -> str:
    """The code after the last one, by the step between the last two: A010, A020 gives A030.

    Empty where the last code ends in no number, or the next one is taken or too long.
    """
    if not codes:
        return "A010"
    head, number = _numbered(codes[-1])
    if number is None:
        return ""
    before = _numbered(codes[-2]) if len(codes) > 1 else ("", None)
    step = int(number) - int(before[1]) if before[0] == head and before[1] else 0
    code = f"{head}{int(number) + (step if step > 0 else STEP):0{len(number)}d}"
    taken = {code.casefold() for code in codes}
    return code if is_code(code) and code.casefold() not in taken else ""


def free_code(code: str, taken: Collection[str]) -> str:
    """The first of A010-2, A010-3… that no other shot has; `taken` are all codes in use."""
    used = {other.casefold() for other in taken}
    number = 2
    while True:
        tail = f"-{number}"
        candidate = code[: LONGEST_CODE - len(tail)] + tail
        if candidate.casefold() not in used:
            return candidate
        number += 1


def _numbered(code: str) -> tuple[str, str | None]:
    match = re.fullmatch(r"(.*?)([0-9]+)", code)
    return (match[1], match[2]) if match else (code, None)
