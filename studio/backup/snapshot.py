"""A second connection to the database that sees one moment of it, while others go on writing."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, connections, transaction

SNAPSHOT = "snapshot"


@contextmanager
def snapshot() -> Iterator[str]:
    """The alias of a connection on which everything read is of one moment.

    SQLite: a deferred transaction reads one state of the write-ahead log and holds nobody up.
    PostgreSQL: a repeatable-read transaction does the same.
    """
    beside = connection.copy(SNAPSHOT)
    beside.settings_dict["OPTIONS"] |= _one_moment()
    connections[SNAPSHOT] = beside
    try:
        with transaction.atomic(using=SNAPSHOT):
            yield SNAPSHOT
    finally:
        beside.close()
        del connections[SNAPSHOT]


def _one_moment() -> dict:
    if connection.vendor == "sqlite":
        return {"transaction_mode": "DEFERRED"}
    from psycopg import IsolationLevel

    return {"isolation_level": IsolationLevel.REPEATABLE_READ}
