"""Every address the site has, as its pattern."""

from collections.abc import Iterator

from django.urls import URLPattern, URLResolver, get_resolver


def routes(resolver=None, prefix="/", namespace="") -> Iterator[tuple[str, str]]:
    """(name, route with its holes) for every pattern, however deeply included."""
    for pattern in (resolver or get_resolver()).url_patterns:
        route = prefix + str(pattern.pattern)
        if isinstance(pattern, URLResolver):
            space = f"{namespace}{pattern.namespace}:" if pattern.namespace else namespace
            yield from routes(pattern, route, space)
        elif isinstance(pattern, URLPattern):
            yield f"{namespace}{pattern.name}", route
