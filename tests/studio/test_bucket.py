"""Pictures kept in an S3 bucket: written, read back, served, and closed to the world.

Against moto's S3 server, an outside implementation of the protocol.
"""

import io
import sqlite3
import urllib.error
import urllib.request
from contextlib import closing

import boto3
import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import storages
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from moto.server import ThreadedMotoServer
from PIL import Image

from studio.backup.files import put_in_place
from studio.backup.restoring import restore
from studio.backup.writing import write_backup
from studio.errors import NotPossible
from tests import factories
from tests.studio.backup.made_up import files_in, rows_in

BUCKET = "lamplight-table"


@pytest.fixture
def bucket(monkeypatch, settings):
    """The default file store in a bucket; gives the address of the bucket's server."""
    for name in ("AWS_ACCESS_KEY_ID", "AWS_SECRET_ACCESS_KEY"):
        monkeypatch.setenv(name, "for-the-test")
    monkeypatch.setenv("AWS_DEFAULT_REGION", "eu-central-1")
    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0)
    server.start()
    host, port = server.get_host_and_port()
    address = f"http://{host}:{port}"
    where = {"LocationConstraint": "eu-central-1"}
    client = boto3.client("s3", endpoint_url=address)
    client.create_bucket(Bucket=BUCKET, CreateBucketConfiguration=where)
    settings.STORAGES = settings.STORAGES | {
        "default": {
            "BACKEND": "studio.bucket.Bucket",
            "OPTIONS": {"bucket_name": BUCKET, "endpoint_url": address, "default_acl": None},
        }
    }
    yield address
    urllib.request.urlopen(f"{address}/moto-api/reset", data=b"")  # its memory outlives the server
    server.stop()


def test_a_file_is_kept_in_the_bucket_and_read_back(bucket):
    store = storages["default"]
    name = store.save("thumbnails/still.jpg", ContentFile(b"a small picture"))
    kept = boto3.client("s3", endpoint_url=bucket).get_object(Bucket=BUCKET, Key=name)
    assert kept["Body"].read() == b"a small picture"
    assert store.open(name).read() == b"a small picture"
    store.delete(name)
    assert not store.exists(name)


def test_only_the_part_that_is_wanted_is_fetched(bucket):
    store = storages["default"]
    name = store.save("films/fox.mp4", ContentFile(b"0123456789"))
    assert b"".join(store.part(name, 4, 3)) == b"456"
    assert b"".join(store.part(name, 0, 10)) == b"0123456789"
    empty = store.save("films/none.mp4", ContentFile(b""))
    assert b"".join(store.part(empty, 0, 0)) == b""


@pytest.mark.django_db(transaction=True)
def test_a_bucket_that_is_away_is_said_in_words_by_a_backup(bucket, studio, tmp_path, settings):
    place = settings.STORAGES["default"]["OPTIONS"] | {"bucket_name": "nowhere"}
    settings.STORAGES = settings.STORAGES | {
        "default": {"BACKEND": "studio.bucket.Bucket", "OPTIONS": place}
    }
    with pytest.raises(NotPossible, match=r"not made: the bucket for files says.*does not exist"):
        write_backup(tmp_path / "one.tar", timezone.now())
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(OSError, match="does not exist"):
        storages["default"].save("thumbnails/still.jpg", ContentFile(b"a small picture"))


@pytest.fixture
def own_database(transactional_db, tmp_path):
    """A database of this test's own: to a restore, the browser tests' server is another program."""
    if connection.vendor != "sqlite":
        yield
        return
    shared, own = connection.settings_dict["NAME"], tmp_path / "own.sqlite3"
    connection.close()
    with closing(sqlite3.connect(shared)) as old, closing(sqlite3.connect(own)) as new:
        old.backup(new)
    connection.settings_dict["NAME"] = own
    yield
    connection.close()
    connection.settings_dict["NAME"] = shared


@pytest.mark.django_db(transaction=True)
def test_a_backup_goes_into_a_bucket_and_comes_out_of_it_again(bucket, own_database, tmp_path):
    """Files that are there already are held against the backup's."""
    shot = factories.ShotFactory()
    shot.storyboard.save("a.jpg", ContentFile(b"a drawing"))
    stays = storages["default"].save("thumbnails/still.jpg", ContentFile(b"a small picture"))
    first = write_backup(tmp_path / "one.tar", timezone.now()).path
    storages["default"].delete(shot.storyboard.name)
    restore(first, timezone.now())
    again = write_backup(tmp_path / "two.tar", timezone.now()).path
    assert rows_in(again) == rows_in(first)
    assert (
        files_in(again)
        == files_in(first)
        == {
            f"data/files/{shot.storyboard.name}": b"a drawing",
            f"data/files/{stays}": b"a small picture",
        }
    )

    storages["default"].delete(stays)
    storages["default"].save(stays, ContentFile(b"another file of this name"))
    (tmp_path / "staged" / stays).parent.mkdir(parents=True)
    (tmp_path / "staged" / stays).write_bytes(b"a small picture")
    with pytest.raises(NotPossible, match="another file called"):
        put_in_place(tmp_path / "staged", tmp_path / "aside")


def test_a_page_serves_a_picture_from_the_bucket_only_to_who_may_see_it(bucket, crew_client):
    shot = factories.ShotFactory()
    address = reverse("shots:storyboard", args=[shot.production.code, shot.pk])
    drawing = io.BytesIO()
    Image.new("RGB", (64, 36), "teal").save(drawing, "JPEG")
    crew_client.post(address, {"picture": SimpleUploadedFile("a.jpg", drawing.getvalue())})
    served = crew_client.get(address)
    assert Image.open(io.BytesIO(served.getvalue())).size == (64, 36)
    assert Client().get(address).status_code == 302
    shot.refresh_from_db()
    with pytest.raises(urllib.error.HTTPError, match="403"):
        urllib.request.urlopen(f"{bucket}/{BUCKET}/{shot.storyboard.name}")
