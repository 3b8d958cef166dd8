"""The backups that are kept: look, make one, check one again, take one away."""

import shutil

from django.conf import settings
from django.http import Http404
from django.shortcuts import redirect
from django.views.decorators.http import require_GET, require_POST, require_safe

from studio.backup import asked
from studio.backup.kept import KeptBackup, find_backup, kept_backups
from studio.ranges import download
from studio.web import owner_required, page_or_part


@owner_required
@require_GET
def backups(request):
    """Every kept backup, what is being made, and what the disk still holds."""
    kept = kept_backups()
    checks = asked.last_checks()
    context = {
        "backups": [(one, checks.get(one.name)) for one in kept],
        "total": sum(one.size for one in kept),
        "free": shutil.disk_usage(settings.DATA_DIR).free,
        "folder": settings.BACKUP_DIR,
        "at_work": asked.at_work(),
    }
    return page_or_part(request, "studio/backups.html", "studio/_backups.html", context)


@owner_required
@require_POST
def backup_make(request):
    """Ask for a backup now."""
    asked.ask_for_backup(request.user)
    return redirect("studio:backups")


@owner_required
@require_POST
def backup_check(request, name: str):
    """Ask for a check of a kept backup."""
    asked.ask_for_check(_kept(name).name, request.user)
    return redirect("studio:backups")


@owner_required
@require_safe
def backup_download(request, name: str):
    """The file, to keep it elsewhere. The name is only ever compared, never used as a path."""
    kept = _kept(name)
    return download(request, kept, kept.name, kept.seal)


def _kept(name: str) -> KeptBackup:
    found = find_backup(name)
    if found is None:
        raise Http404("That backup is not there any more.")
    return found
