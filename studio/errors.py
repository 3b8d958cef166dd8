"""Refusals a person can act on. Services raise them; views put their sentence in its place."""

from django.db import models


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
