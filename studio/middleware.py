"""What every request passes through: the page's security policy, and the studio it belongs to."""

import logging
import time

from django.conf import settings
from django.http import Http404
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone

from studio import access, logs
from studio.models import Studio

logger = logging.getLogger(__name__)

# No inline script or style, nothing from elsewhere: what a hostile name smuggles in cannot run.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
    "font-src 'self'; connect-src 'self'; media-src 'self' blob:; manifest-src 'self'; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
LARGEST_KEY = 2**63 - 1  # BigAutoField
OUTSIDE_THE_STUDIO = (f"/{settings.STATIC_URL.strip('/')}/", "/health/")


class ContentSecurityPolicyMiddleware:
    """Sends the policy with every answer."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", POLICY)
        return response


class StudioMiddleware:
    """Puts the studio and its present day on the request; before the first run, leads there."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        if request.path.startswith(OUTSIDE_THE_STUDIO):
            return self.get_response(request)
        request.studio = Studio.objects.first()
        first_run = reverse("studio:first_run")
        if request.studio is None:
            return self.get_response(request) if request.path == first_run else redirect(first_run)
        with timezone.override(request.studio.zone):
            request.now = timezone.now()
            request.today = request.studio.today(request.now)
            access.note_use(request.session, request.now)
            return self.get_response(request)


class RowKeyMiddleware:
    """Answers an address with a number no row can have as one that leads nowhere."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        return self.get_response(request)

    def process_view(self, request, view, args, kwargs):
        if any(isinstance(key, int) and key > LARGEST_KEY for key in kwargs.values()):
            raise Http404("No row has such a number.")


class RequestLogMiddleware:
    """One line for each answer: what kind of page, how it went, how long it took.

    The address is written as its pattern: a private link's secret is never in the log, nor is a
    person's name.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        began = time.perf_counter()
        response = self.get_response(request)
        facts = {
            "method": request.method,
            "page": logs.page_of(request),
            "status": response.status_code,
            "milliseconds": round(1000 * (time.perf_counter() - began)),
        }
        logger.info("answered", extra=facts)
        return response
