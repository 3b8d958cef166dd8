"""Where kept files lie when several machines serve one studio."""

from collections.abc import Iterator
from contextlib import contextmanager

from boto3.exceptions import Boto3Error
from botocore.exceptions import BotoCoreError, ClientError
from storages.backends.s3 import S3Storage

from studio.storage import AT_ONCE


class Bucket(S3Storage):
    """Files in an S3 bucket.

    A bucket that is away or refuses raises OSError as a disk does, so that whoever can say what a
    disk did can say what the bucket did.
    """

    def part(self, name: str, first: int, count: int) -> Iterator[bytes]:
        """`count` bytes of a file from byte `first` on.

        Only these are fetched: the library's own file would bring the whole film to this machine
        for each part of it.
        """
        if not count:
            return iter(())
        wanted = f"bytes={first}-{first + count - 1}"
        with _as_a_disk_says_it():
            return self.bucket.Object(name).get(Range=wanted)["Body"].iter_chunks(AT_ONCE)

    def _open(self, name, mode="rb"):
        with _as_a_disk_says_it():
            opened = super()._open(name, mode)
            if "r" in mode:
                opened.file  # noqa: B018  fetched now, while an error can still be told
            return opened

    def _save(self, name, content):
        with _as_a_disk_says_it():
            return super()._save(name, content)

    def delete(self, name):
        """Remove a file; nothing where there is none."""
        with _as_a_disk_says_it():
            super().delete(name)

    def exists(self, name):
        """Whether there is a file of that name."""
        with _as_a_disk_says_it():
            return super().exists(name)

    def listdir(self, name):
        """Names of the folders and of the files in a folder."""
        with _as_a_disk_says_it():
            return super().listdir(name)

    def size(self, name):
        """Bytes of a file."""
        with _as_a_disk_says_it():
            return super().size(name)


@contextmanager
def _as_a_disk_says_it() -> Iterator[None]:
    try:
        yield
    except (BotoCoreError, Boto3Error, ClientError) as error:
        raise OSError(f"the bucket for files says: {error}") from error
