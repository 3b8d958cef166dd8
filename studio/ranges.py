"""Hands out a stored file whole or in part, so that a film can be watched from anywhere in it."""

import re
from collections.abc import Iterator
from typing import IO

from django.db.models.fields.files import FieldFile
from django.http import Http404, HttpRequest, HttpResponse, StreamingHttpResponse

AT_ONCE = 1 << 16  # bytes
PARTIAL, UNSATISFIABLE = 206, 416


def ranged_response(request: HttpRequest, file: FieldFile, content_type: str) -> HttpResponse:
    """The file, or the one range of bytes that was asked for (RFC 9110 14.2).

    Anything else in the Range header is left unheard, as the standard allows. Raises Http404 where
    the stored file is gone.
    """
    try:
        size = file.size
        opened = file.open("rb")
    except OSError as error:
        raise Http404("That file is not there any more.") from error
    first, last = _range(request.headers.get("Range", ""), size) or (0, size - 1)
    if first > last:
        opened.close()
        response = HttpResponse(status=UNSATISFIABLE)
        response.headers["Content-Range"] = f"bytes */{size}"
        return response
    response = StreamingHttpResponse(_pieces(opened, first, last), content_type=content_type)
    response.headers["Accept-Ranges"] = "bytes"
    response.headers["Content-Length"] = str(last - first + 1)
    response.headers["X-Content-Type-Options"] = "nosniff"
    if (first, last) != (0, size - 1):
        response.status_code = PARTIAL
        response.headers["Content-Range"] = f"bytes {first}-{last}/{size}"
    return response


def _range(header: str, size: int) -> tuple[int, int] | None:
    """First and last byte asked for; first over last where there is no such byte."""
    match = re.fullmatch(r"bytes=([0-9]{0,18})-([0-9]{0,18})", header.strip())
    if not match or not any(match.groups()):
        return None
    first, last = match.groups()
    if not first:  # the last so many bytes
        return (max(size - int(last), 0), size - 1) if int(last) else (size, size - 1)
    if last and int(last) < int(first):
        return None
    return int(first), min(int(last), size - 1) if last else size - 1


def _pieces(opened: IO[bytes], first: int, last: int) -> Iterator[bytes]:
    with opened:
        opened.seek(first)
        left = last - first + 1
        while left and (piece := opened.read(min(AT_ONCE, left))):
            left -= len(piece)
            yield piece
