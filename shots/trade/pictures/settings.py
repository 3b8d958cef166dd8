"""Camera settings that changed, against the picture before and against the lock card."""

from dataclasses import asdict

from .facts import LockCard, Settings

SAME = 0.005  # relative; the same setting written as another fraction


def changed_settings(
    all_settings: list[Settings], lock: LockCard | None = None
) -> list[list[dict]]:
    """Exif flags of each picture, in order.

    A field a picture does not give is no change. Against a lock card the first picture that breaks
    it is flagged, then each further change.
    """
    known = {k: v for k, v in asdict(lock or Settings()).items() if v is not None}
    flags = []
    for settings in all_settings:
        found = []
        for name, new in asdict(settings).items():
            if new is None:
                continue
            old = known.get(name, new)
            if not _same(old, new):
                found.append({"kind": "exif", "field": name, "old": old, "new": new})
            known[name] = new
        flags.append(found)
    return flags


def _same(old: float | bool, new: float | bool) -> bool:
    if isinstance(old, bool) or isinstance(new, bool):
        return bool(old) == bool(new)
    return abs(new - old) <= SAME * abs(old)
