"""Several people at the same moment."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

from django.db import connection

from studio.errors import NotPossible


def at_the_same_moment(*acts) -> list:
    """Run every act in a thread and on a connection of its own; results and refusals in order."""
    ready = Barrier(len(acts))

    def run(act):
        ready.wait()
        try:
            return act()
        except NotPossible as refusal:
            return refusal
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(run, acts))
