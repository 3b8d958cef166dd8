"""Refusals a person can act on. Services raise them; views put their sentence in its place."""

import errno
import sqlite3

from django.db import models

DISK_FULL = "53100"  # PostgreSQL's SQLSTATE disk_full


class EditedMeanwhile(Exception):
    """Somebody else saved this row after it was read: `current` is what stands now."""

    def __init__(self, current: models.Model):
        self.current = current
        super().__init__(f"{current} was changed meanwhile. Look at both and choose.")


class NotPossible(Exception):
    """What was asked cannot be; the sentence says how to mend it, `field` names the culprit."""

    def __init__(self, sentence: str, field: str | None = None):
        self.sentence, self.field = sentence, field
        super().__init__(sentence)


def no_space_left(error: BaseException | None) -> bool:
    """Whether an error comes down to a full disk, a spent quota or a file that may not grow."""
    while error is not None:
        if getattr(error, "errno", None) in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
            return True
        if getattr(error, "sqlite_errorcode", None) == sqlite3.SQLITE_FULL:
            return True
        if getattr(error, "sqlstate", None) == DISK_FULL:
            return True
        error = error.__cause__ or error.__context__
    return False
