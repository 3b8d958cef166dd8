"""A stored file handed out whole or in part (RFC 9110 14)."""

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db.models.fields.files import FieldFile
from django.http import Http404
from django.test import RequestFactory

from studio.ranges import ranged_response

TEN = b"0123456789"


class Stored(FieldFile):
    def __init__(self, name: str):
        self.name, self.storage, self._committed = name, default_storage, True


@pytest.fixture
def stored() -> Stored:
    return Stored(default_storage.save("ten", ContentFile(TEN)))


def answer(stored, wanted: str | None = None):
    headers = {"Range": wanted} if wanted else {}
    response = ranged_response(RequestFactory().get("/", headers=headers), stored, "video/mp4")
    body = b"".join(response.streaming_content) if response.streaming else response.content
    return response, body


def test_without_a_range_all_of_it_comes(stored):
    response, body = answer(stored)
    assert (response.status_code, body) == (200, TEN)
    assert response.headers["Accept-Ranges"] == "bytes"
    assert response.headers["Content-Length"] == "10"


@pytest.mark.parametrize(
    ("wanted", "body", "range_"),
    [
        ("bytes=0-3", b"0123", "bytes 0-3/10"),
        ("bytes=4-", b"456789", "bytes 4-9/10"),
        ("bytes=-3", b"789", "bytes 7-9/10"),
        ("bytes=8-99", b"89", "bytes 8-9/10"),
        ("bytes=9-9", b"9", "bytes 9-9/10"),
    ],
)
def test_a_range_comes_in_part(wanted, body, range_, stored):
    response, found = answer(stored, wanted)
    assert (response.status_code, found) == (206, body)
    assert response.headers["Content-Range"] == range_
    assert response.headers["Content-Length"] == str(len(body))


@pytest.mark.parametrize("wanted", ["bytes=10-", "bytes=99-100", "bytes=-0"])
def test_a_range_beyond_the_end_is_refused(wanted, stored):
    response, body = answer(stored, wanted)
    assert (response.status_code, body) == (416, b"")
    assert response.headers["Content-Range"] == "bytes */10"


@pytest.mark.parametrize(
    "wanted", ["bytes=5-2", "bytes=0-1,4-5", "lines=0-3", "bytes=x-", "bytes=-"]
)
def test_what_is_no_single_range_is_left_unheard(wanted, stored):
    response, body = answer(stored, wanted)
    assert (response.status_code, body) == (200, TEN)


def test_a_file_that_is_gone_is_not_found(stored):
    default_storage.delete(stored.name)
    with pytest.raises(Http404, match="not there any more"):
        answer(stored)
