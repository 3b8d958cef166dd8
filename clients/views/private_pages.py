"""What the pages behind a private address have in common."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

GONE = 404  # an unknown, expired or revoked address look all the same


def private(response: HttpResponse) -> HttpResponse:
    """Keep private pages out of caches and search engines.

    Other sites' logs never see the address: the site's referrer policy is same-origin.
    """
    response.headers["Cache-Control"] = "no-store, private"
    response.headers["X-Robots-Tag"] = "noindex, nofollow"
    return response


def closed(request: HttpRequest) -> HttpResponse:
    """The page of an address that opens nothing."""
    return private(render(request, "clients/link_closed.html", status=GONE))
