"""A stored file handed out whole or in part (RFC 9110 14)."""

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db.models.fields.files import FieldFile
from django.http import Http404
from django.test import RequestFactory

from studio.ranges import download, ranged_response

TEN = b"0123456789"


class Stored(FieldFile):
    def __init__(self, name: str):
        self.name, self.storage, self._committed = name, default_storage, True


@pytest.fixture
def stored() -> Stored:
    return Stored(default_storage.save("ten", ContentFile(TEN)))


def answer(stored, wanted: str | None = None, *, sha256: str = "", if_range: str | None = None):
    headers = {"Range": wanted, "If-Range": if_range}
    request = RequestFactory().get("/", headers={k: v for k, v in headers.items() if v is not None})
    response = ranged_response(request, stored, "video/mp4", sha256)
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
        ("Bytes=9-9", b"9", "bytes 9-9/10"),  # range units know no case, 14.1
    ],
)
def test_a_range_comes_in_part_by_rfc_9110_14_4_and_15_3_7(wanted, body, range_, stored):
    response, found = answer(stored, wanted)
    assert (response.status_code, found) == (206, body)
    assert response.headers["Content-Range"] == range_
    assert response.headers["Content-Length"] == str(len(body))


@pytest.mark.parametrize("wanted", ["bytes=10-", "bytes=99-100", "bytes=-0"])
def test_a_range_beyond_the_end_is_refused_by_rfc_9110_15_5_17(wanted, stored):
    response, body = answer(stored, wanted)
    assert (response.status_code, body) == (416, b"")
    assert response.headers["Content-Range"] == "bytes */10"


@pytest.mark.parametrize(
    "wanted", ["bytes=5-2", "bytes=0-1,4-5", "lines=0-3", "bytes=x-", "bytes=-"]
)
def test_what_is_no_single_range_is_left_unheard_by_rfc_9110_14_2(wanted, stored):
    response, body = answer(stored, wanted)
    assert (response.status_code, body) == (200, TEN)


SUM = "84d89877f0d4041efb6bf91a16f0248f2fd573e6af05c19f96bedb9f882f7882"  # of TEN, by sha256sum


@pytest.mark.parametrize(
    ("if_range", "status"),
    [
        (None, 206),
        (f'"{SUM}"', 206),
        (f'W/"{SUM}"', 200),  # a weak tag never matches here
        ('"of another film"', 200),
        (SUM, 200),
        ("Wed, 25 Nov 2026 09:00:00 GMT", 200),  # no date was given out that could match
        ("", 200),
    ],
)
def test_a_part_is_sent_only_of_the_file_it_is_wanted_of_by_rfc_9110_13_1_5(
    if_range, status, stored
):
    response, body = answer(stored, "bytes=4-", sha256=SUM, if_range=if_range)
    assert (response.status_code, body) == (status, TEN[4:] if status == 206 else TEN)
    assert response.headers["ETag"] == f'"{SUM}"'


def test_a_file_whose_sum_is_not_known_is_never_continued_on_a_condition(stored):
    response, body = answer(stored, "bytes=4-", if_range='"x"')
    assert (response.status_code, body) == (200, TEN)
    assert "ETag" not in response.headers


def test_a_head_request_leaves_its_range_unheard_by_rfc_9110_14_2(stored):
    request = RequestFactory().head("/", headers={"Range": "bytes=0-3"})
    response = ranged_response(request, stored, "video/mp4")
    assert (response.status_code, response.headers["Content-Length"]) == (200, "10")


@pytest.mark.parametrize("wanted", [None, "bytes=0-", "bytes=-1"])
def test_an_empty_file_comes_whole(wanted):
    """A range may be left unheard, RFC 9110 14.2."""
    response, body = answer(Stored(default_storage.save("none", ContentFile(b""))), wanted)
    assert (response.status_code, body) == (200, b"")


def test_a_download_is_saved_and_never_shown(stored):
    response = download(RequestFactory().get("/"), stored, 'a "fox".html', SUM)
    assert response.headers["Content-Type"] == "application/octet-stream"
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    # RFC 6266 4.1, with the quotes escaped as RFC 9110 5.6.4 says.
    assert response.headers["Content-Disposition"] == r'attachment; filename="a \"fox\".html"'


def test_a_file_that_is_gone_is_not_found(stored):
    default_storage.delete(stored.name)
    with pytest.raises(Http404, match="not there any more"):
        answer(stored)
