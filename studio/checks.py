"""Our own system checks, each with a hint that mends it."""

from django.conf import settings
from django.core.checks import Error, Warning, register

from studio import data_folder


@register()
def secret_key_is_kept(app_configs, **kwargs):
    """A key of this process only signs everybody out at the next start."""
    if data_folder.secret_key(settings.DATA_DIR) is None and not settings.TESTING:
        return [
            Warning(
                "There is no secret key in the data folder yet.",
                hint="Run `manage.py start` once: it makes one that only you can read.",
                id="stillcount.W001",
            )
        ]
    return []


@register()
def secret_key_is_private(app_configs, **kwargs):
    """Whoever reads the key can sign in as anybody."""
    path = settings.DATA_DIR / data_folder.SECRET_KEY_FILE
    if path.exists() and path.stat().st_mode & 0o077:
        return [
            Error(
                "Others on this machine can read the secret key.",
                hint=f"Run: chmod 600 {path}",
                id="stillcount.E001",
            )
        ]
    return []
