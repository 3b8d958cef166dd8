"""File names for deliverables: built from a pattern, safe on every system.

A pattern is plain text with fields in braces, such as
``{production}_{deliverable}_v{version}.mp4``. Names keep to the POSIX portable file name
character set (A-Z a-z 0-9 . _ -) with no hyphen or dot in front, so that they survive every
file system, archive and mail program.
"""

import re
import unicodedata
from collections.abc import Iterable, Mapping

LONGEST_NAME = 200
"""Bytes. File systems stop at 255; the rest is left for a copy's suffix."""

PORTABLE = re.compile(r"[A-Za-z0-9._-]+")
FIELD = re.compile(r"\{([a-z_]+)\}")
# Names that stay reserved on some systems whatever extension follows.
RESERVED = re.compile(r"(?i)(con|prn|aux|nul|com[0-9]|lpt[0-9])(\.|$)")
# Letters that do not decompose into a plain letter and an accent.
SPELLED_OUT = str.maketrans(
    {"ł": "l", "Ł": "L", "ø": "o", "Ø": "O", "ß": "ss", "æ": "ae", "Æ": "AE", "œ": "oe",
     "Œ": "OE", "đ": "d", "Đ": "D", "þ": "th", "Þ": "Th", "ð": "d", "ı": "i"}
)  # fmt: skip


class NameRefused(ValueError):
    """A pattern or a name that is not portable; the message is a sentence for a person."""


def portable(text: str) -> str:
    """``text`` reduced to portable characters: accents dropped, anything else a hyphen.

    >>> portable("Łódź, at night")
    'Lodz-at-night'
    """
    plain = unicodedata.normalize("NFKD", text.translate(SPELLED_OUT))
    plain = "".join(letter for letter in plain if not unicodedata.combining(letter))
    return re.sub(r"[^A-Za-z0-9._]+", "-", plain).strip("-._")


def fault_of_name(name: str) -> str:
    """Why ``name`` is not portable, as a sentence; empty when it is."""
    if not PORTABLE.fullmatch(name):
        odd = sorted(set(re.sub(r"[A-Za-z0-9._-]", "", name)))
        shown = ", ".join(_seen(letter) for letter in odd[:5])
        return f"The name holds characters that are not safe on every system: {shown or 'none'}."
    if name[0] in "-.":
        return "The name starts with a hyphen or a dot, which hides it or reads as an option."
    if name[-1] == ".":
        return "The name ends with a dot, which some systems drop."
    if RESERVED.match(name):
        return "The name is reserved on some systems."
    if len(name) > LONGEST_NAME:
        return f"The name is {len(name)} characters long; keep it to {LONGEST_NAME}."
    return ""


def _seen(letter: str) -> str:
    if letter == " ":
        return "a space"
    return letter if letter.isprintable() else ascii(letter)


def fault_of_pattern(pattern: str) -> str:
    """Why ``pattern`` cannot be used, as a sentence; empty when it can."""
    literal = FIELD.sub("0", pattern)
    if "{" in literal or "}" in literal:
        return (
            f"The name pattern {pattern!r} has a brace that is not part of a field; "
            "write fields like {production}."
        )
    fault = fault_of_name(literal.replace("*", "0"))
    if fault:
        return f"The name pattern {pattern!r} cannot make a safe name. {fault}"
    if pattern.count("*") > 2:
        return f"The name pattern {pattern!r} has more than two stars; use at most two."
    return ""


def build_name(pattern: str, fields: Mapping[str, str], version: int) -> str:
    """The name for one version of a deliverable; ``{version}`` has at least two digits.

    Raises NameRefused for a bad pattern, an unknown or empty field, or a version below 1.
    """
    if fault := fault_of_pattern(pattern):
        raise NameRefused(fault)
    if "*" in pattern:
        raise NameRefused(f"The name pattern {pattern!r} has a star; a new name needs fields only.")
    if version < 1:
        raise NameRefused(f"Versions count from 1; got {version}.")
    values = {**fields, "version": f"{version:02d}"}

    def fill(match: re.Match[str]) -> str:
        field = match[1]
        if field not in values:
            known = ", ".join(sorted(values))
            raise NameRefused(f"The name pattern asks for {field!r}; the fields are {known}.")
        value = portable(values[field])
        if not value:
            raise NameRefused(
                f"The field {field!r} is {values[field]!r}, which leaves nothing for a file name; "
                "give it a plain Latin spelling."
            )
        return value

    name = FIELD.sub(fill, pattern)
    if fault := fault_of_name(name):
        raise NameRefused(f"{name!r} cannot be used. {fault}")
    return name


def matches(pattern: str, name: str) -> bool:
    """True when ``name`` is portable and could have come from ``pattern``.

    ``{version}`` stands for digits, any other field for one or more portable characters, and
    ``*`` for any run of them.
    """
    if fault_of_name(name):
        return False
    parts = re.split(r"(\{[a-z_]+\}|\*)", pattern)
    wild = {"{version}": r"[0-9]+", "*": r"[A-Za-z0-9._-]*"}
    expression = "".join(
        wild.get(part, r"[A-Za-z0-9._-]+") if part[:1] in "{*" and part else re.escape(part)
        for part in parts
    )
    return re.fullmatch(expression, name) is not None


def next_version(delivered: Iterable[int]) -> int:
    """The version after the highest ever delivered: numbers never go backwards or repeat."""
    return max(delivered, default=0) + 1
