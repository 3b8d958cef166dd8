"""Answers that were found before.

A forecast is pure: the same history gives the same answer. So an answer is kept under a digest of
all it was found from, and one changed count asks anew. Nothing here can grow stale.
"""

import pickle
from collections.abc import Callable
from hashlib import sha256
from typing import TypeVar

from django.core.cache import cache

from shots.trade.forecast import History

A_DAY = 24 * 3600  # seconds; tomorrow the history is another


T = TypeVar("T")


def remembered(find: Callable[..., T], history: History, **more: object) -> T:
    """What `find(history, **more)` answers; `find` is a pure function of its module."""
    asked = sha256(history.digest + pickle.dumps(sorted(more.items()))).hexdigest()
    key = f"{find.__module__}.{find.__name__}:{asked}"
    return cache.get_or_set(key, lambda: find(history, **more), A_DAY)
