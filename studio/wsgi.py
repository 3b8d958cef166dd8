"""The door for a production server: `studio.wsgi.application`."""

import os
from contextlib import ExitStack

from django.conf import settings
from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
application = get_wsgi_application()

from studio.backup.in_use import in_use  # noqa: E402  needs the apps that were just loaded

# For as long as this process lives: nobody restores a backup under a running site.
until_the_end = ExitStack()
until_the_end.enter_context(in_use(settings.DATA_DIR))
