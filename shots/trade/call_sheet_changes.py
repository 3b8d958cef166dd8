"""What a call sheet says, and what a later revision changes of it."""

from dataclasses import asdict, dataclass


@dataclass(frozen=True)
class SheetContents:
    """A call sheet in the words it is read in: times as "09:00", people and pictures by name."""

    day: str
    call: str
    wrap: str
    people: dict[str, str]
    shots: dict[str, int]
    place: str = ""
    directions: str = ""
    emergency_care: str = ""
    notes: str = ""

    def kept(self) -> dict:
        """As plain values, to store; shots as pairs, for not every store keeps keys in order."""
        return asdict(self) | {"shots": list(self.shots.items())}

    @classmethod
    def read(cls, kept: dict) -> "SheetContents":
        """What `kept` made."""
        return cls(**(kept | {"shots": dict(kept["shots"])}))


SAID = (
    ("day", "The day"),
    ("call", "The call"),
    ("wrap", "The wrap"),
)
WRITTEN = (
    ("place", "The place of shooting"),
    ("directions", "How to get there"),
    ("emergency_care", "The nearest emergency care"),
    ("notes", "The notes"),
)


def changes(before: SheetContents, after: SheetContents) -> tuple[str, ...]:
    """What changed, a sentence each, what moves people first."""
    said = [
        f"{name} moves from {getattr(before, field)} to {getattr(after, field)}."
        for field, name in SAID
        if getattr(before, field) != getattr(after, field)
    ]
    said += _people(before.people, after.people)
    said += _shots(before.shots, after.shots)
    said += [
        f"{name} changed." if getattr(after, field) else f"{name} left the sheet."
        for field, name in WRITTEN
        if getattr(before, field) != getattr(after, field)
    ]
    return tuple(said)


def _people(before: dict[str, str], after: dict[str, str]) -> list[str]:
    said = [
        f"{name} is called at {call}, not at {before[name]}."
        if name in before
        else f"{name} is called too, at {call}."
        for name, call in after.items()
        if before.get(name) != call
    ]
    return said + [f"{name} is no longer called." for name in before if name not in after]


def _shots(before: dict[str, int], after: dict[str, int]) -> list[str]:
    said = [
        f"Shot {code} is added: {after[code]} pictures." for code in after if code not in before
    ]
    said += [f"Shot {code} is off the day." for code in before if code not in after]
    both = [code for code in after if code in before]
    said += [
        f"Shot {code}: {after[code]} pictures instead of {before[code]}."
        for code in both
        if after[code] != before[code]
    ]
    if both != [code for code in before if code in after]:
        said.append("The shots come in another order.")
    return said
