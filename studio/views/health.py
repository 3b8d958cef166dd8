"""Whether the site can do its work, for whatever watches over it. Says nothing of the studio."""

import shutil
from datetime import timedelta

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.http import JsonResponse
from django.utils import timezone

from studio.models import LongWork

LEAST_FREE_BYTES = 200 * 1024 * 1024
LONGEST_WAIT = timedelta(minutes=10)
UNAVAILABLE = 503


@login_not_required
def health(request):
    """200 when everything is well, 503 with the word that is not."""
    parts = {"database": _database(), "disk": _disk()}
    parts["long_work"] = _long_work() if parts["database"] == "ok" else "unknown"
    well = all(word == "ok" for word in parts.values())
    return JsonResponse(parts, status=200 if well else UNAVAILABLE)


def _database() -> str:
    try:
        connection.ensure_connection()
        LongWork.objects.exists()
    except DatabaseError:
        return "does not answer"
    return "ok"


def _disk() -> str:
    free = shutil.disk_usage(settings.DATA_DIR).free
    return "ok" if free >= LEAST_FREE_BYTES else "nearly full"


def _long_work() -> str:
    """Work that waits while none runs: the process that does it is not there."""
    open_work = LongWork.objects.not_over()
    running = open_work.filter(state=LongWork.State.RUNNING).exists()
    overdue = open_work.filter(created_at__lt=timezone.now() - LONGEST_WAIT).exists()
    return "waiting" if overdue and not running else "ok"
