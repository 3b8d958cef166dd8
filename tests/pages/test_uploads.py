"""Uploads have limits of bytes, pixels and number, and are handed out to nobody they are not for.

What is decoded before it is kept, decompression bombs, Exif and hostile names stand beside the
readers: tests/shots/test_reading.py, test_pictures.py, test_shots.py (storyboards).
"""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from shots.models import Picture
from shots.services import picture_intake
from tests import factories, stills
from tests.conftest import signed_in

STILL = stills.still(stills.Set((320, 240), 6), 0).data


def sent(many: int = 1, content: bytes = STILL) -> dict:
    return {"pictures": [SimpleUploadedFile(f"P{n}.jpg", content) for n in range(many)]}


@pytest.fixture
def shot(studio):
    return factories.ShotFactory(production__code="FELT", production__keep_originals=True)


@pytest.fixture
def address(shot):
    return reverse("shots:pictures_add", args=["FELT", shot.pk])


@pytest.fixture
def kept(owner_client, address) -> Picture:
    owner_client.post(address, sent())
    return Picture.objects.get()


def test_too_many_files_at_once_are_refused_before_any_is_read(crew, address):
    """Django's own limit, 100; the page's script sends them one at a time."""
    browser = signed_in(crew)
    answer = browser.post(address, sent(101, b"x"))
    assert answer.status_code == 400
    assert "Traceback" not in answer.content.decode()
    assert not Picture.objects.exists()


def test_a_file_of_too_many_bytes_is_refused(owner_client, address, monkeypatch):
    monkeypatch.setattr("shots.reading.LARGEST_FILE", len(STILL) - 1)
    answer = owner_client.post(address, sent(), headers={"Accept": "application/json"})
    assert "save it smaller" in answer.json()["refused"][0]
    assert not Picture.objects.exists()


def test_a_picture_of_too_many_pixels_is_refused(owner_client, address, monkeypatch):
    monkeypatch.setattr("shots.reading.LARGEST_PIXELS", 320 * 240 - 1)
    answer = owner_client.post(address, sent(), headers={"Accept": "application/json"})
    assert "is too large (320 × 240)" in answer.json()["refused"][0]
    assert not Picture.objects.exists()


def test_a_shot_holds_so_many_pictures_and_no_more(owner_client, kept, address, monkeypatch):
    monkeypatch.setattr(picture_intake, "MOST_PICTURES", 1)
    another = stills.still(stills.Set((320, 240), 6), 1).data
    answer = owner_client.post(address, sent(1, another), headers={"Accept": "application/json"})
    assert answer.status_code == 422
    assert "more do not fit" in answer.json()["refused"][0]
    assert Picture.objects.count() == 1


@pytest.mark.parametrize(
    ("name", "kind"),
    [("picture_thumbnail", "image/jpeg"), ("picture_original", "application/octet-stream")],
)
def test_a_kept_file_is_handed_out_as_what_it_is_and_only_inside(crew, kept, name, kind):
    address = reverse(f"shots:{name}", args=["FELT", kept.pk])
    answer = signed_in(crew).get(address)
    assert answer["Content-Type"] == kind
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "default-src 'none'" in answer["Content-Security-Policy"]
    assert "public" not in answer.get("Cache-Control", "")
    assert Client().get(address).url.startswith("/sign-in/")


@pytest.mark.parametrize("name", ["picture_thumbnail", "picture_original", "picture"])
def test_a_picture_is_found_only_under_its_own_production(owner_client, kept, name):
    factories.ProductionFactory(code="CLAY")
    address = reverse(f"shots:{name}", args=["CLAY", kept.pk])
    assert owner_client.get(address).status_code == 404


def test_no_kept_file_is_served_by_its_path(owner_client, kept):
    """There is no address for the folder of kept files, whatever its name is guessed to be."""
    for path in (f"/files/{kept.thumbnail.name}", f"/{kept.thumbnail.name}", "/files/"):
        assert owner_client.get(path).status_code == 404
