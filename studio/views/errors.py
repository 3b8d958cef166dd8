"""What a person reads when a page breaks."""

import sys

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views import defaults

from studio.errors import no_space_left

NO_SPACE = 507  # Insufficient Storage, RFC 4918 11.5


def server_error(request: HttpRequest) -> HttpResponse:
    """A full disk is something a person can mend: say so. Everything else is ours to mend."""
    if no_space_left(sys.exc_info()[1]):
        return render(request, "507.html", status=NO_SPACE)
    return defaults.server_error(request)
