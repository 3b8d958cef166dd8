"""Hands out a stored file whole or in part (RFC 9110 14): a film can be watched from anywhere in
it, and a download that broke off goes on where it was."""

import re
from typing import Protocol

from django.core.files.storage import Storage
from django.http import Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.utils.http import content_disposition_header

PARTIAL, UNSATISFIABLE = 206, 416
ANY_BYTES = "application/octet-stream"


class StoredFile(Protocol):
    """What a model's file is, and a kept backup. `size` is bytes; asked for it, or for a `part` of
    its storage, one that is gone raises OSError."""

    @property
    def name(self) -> str: ...

    @property
    def size(self) -> int: ...

    @property
    def storage(self) -> Storage: ...


def download(request: HttpRequest, file: StoredFile, name: str, sha256: str) -> HttpResponse:
    """A file to be saved as `name`, never shown; `sha256` tells whether it is still the same."""
    response = ranged_response(request, file, ANY_BYTES, sha256)
    response.headers["Content-Disposition"] = content_disposition_header(True, name)
    return response


def ranged_response(
    request: HttpRequest, file: StoredFile, content_type: str, sha256: str = ""
) -> HttpResponse:
    """The file, or the one range of bytes that was asked for (RFC 9110 14.2).

    Anything else in the Range header is left unheard, as the standard allows. With `sha256` the
    answer carries it as its entity tag. Raises Http404 where the stored file is gone.
    """
    tag = f'"{sha256}"' if sha256 else ""
    try:
        size = file.size
        first, last = _wanted(request, size, tag) or (0, size - 1)
        if first <= last or not size:
            response = _part(file, first, last, size, content_type)
        else:
            response = HttpResponse(status=UNSATISFIABLE)
            response.headers["Content-Range"] = f"bytes */{size}"
    except OSError as error:
        raise Http404("That file is not there any more.") from error
    response.headers["Accept-Ranges"] = "bytes"
    response.headers["X-Content-Type-Options"] = "nosniff"
    if tag:
        response.headers["ETag"] = tag
    return response


def _part(file: StoredFile, first: int, last: int, size: int, content_type: str) -> HttpResponse:
    count = last - first + 1
    pieces = file.storage.part(file.name, first, count)
    response = StreamingHttpResponse(pieces, content_type=content_type)
    response.headers["Content-Length"] = str(count)
    if count < size:
        response.status_code = PARTIAL
        response.headers["Content-Range"] = f"bytes {first}-{last}/{size}"
    return response


def _wanted(request: HttpRequest, size: int, tag: str) -> tuple[int, int] | None:
    """First and last byte asked for, first over last where there is no such byte; None for all.

    If-Range names the file a part is wanted of: of any other the whole is sent (RFC 9110 13.1.5).
    """
    unchanged = request.headers.get("If-Range", tag).strip() == tag
    if request.method != "GET" or not unchanged:
        return None
    return _range(request.headers.get("Range", ""), size)


def _range(header: str, size: int) -> tuple[int, int] | None:
    match = re.fullmatch(r"bytes=([0-9]{0,18})-([0-9]{0,18})", header.strip(), re.IGNORECASE)
    if not match or not any(match.groups()):
        return None
    first, last = match.groups()
    if not first:  # the last so many bytes
        return (max(size - int(last), 0), size - 1) if int(last) else (size, size - 1)
    if last and int(last) < int(first):
        return None
    return int(first), min(int(last), size - 1) if last else size - 1
