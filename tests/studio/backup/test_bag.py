"""The backup's file: a bag (RFC 8493) in a tar (POSIX.1-1988 ustar)."""

import io
import random
import tarfile
import tracemalloc
from datetime import UTC, datetime

import bagit
import pytest

from studio.backup import bag

MOMENT = datetime(2026, 3, 2, 18, 30, tzinfo=UTC)
CONTENTS = {
    "rows/studio.studio/000001.jsonl.gz": b'{"name": "Lamplight Table"}\n',
    "files/thumbnails/ab/felt fox.jpg": bytes(range(256)) * 5,
    "files/empty": b"",
    "files/just one block": b"w" * 512,
}


def written(contents=CONTENTS) -> bytes:
    out = io.BytesIO()
    with bag.BagWriter(out, MOMENT) as writer:
        writer.add_tag("backup.json", b"{}")
        for path, content in contents.items():
            writer.add(path, io.BytesIO(content), len(content))
    return out.getvalue()


def read(content: bytes) -> dict[str, bytes]:
    return {one.path: one.content.read() for one in bag.read_bag(io.BytesIO(content))}


def test_what_went_in_comes_out():
    found = read(written())
    assert found.pop("bagit.txt").startswith(b"BagIt-Version: 1.0\n")
    assert found == {"backup.json": b"{}"} | {f"data/{k}": v for k, v in CONTENTS.items()}


def test_what_is_not_looked_at_is_checked_all_the_same():
    assert len([one.path for one in bag.read_bag(io.BytesIO(written()))]) == 6


def test_another_program_finds_a_valid_bag(tmp_path):
    """Outside opinion: Python's tarfile unpacks it, the Library of Congress's bagit validates."""
    with tarfile.open(fileobj=io.BytesIO(written())) as tar:
        assert all(one.mtime == MOMENT.timestamp() for one in tar)
        tar.extractall(tmp_path, filter="data")
    assert bagit.Bag(str(tmp_path / "stillcount-backup")).validate()


def test_a_damaged_byte_is_refused_wherever_it_is():
    whole = written()
    for place in range(len(whole)):
        damaged = bytearray(whole)
        damaged[place] ^= 1 << place % 8
        with pytest.raises(bag.BagRefused):
            read(bytes(damaged))


@pytest.mark.parametrize("change", ["cut", "longer", "empty", "end only", "no lists"])
def test_a_file_that_is_not_whole_is_refused(change):
    whole = written()
    lists = whole.index(b"stillcount-backup/manifest-sha256.txt")
    changed = {
        "cut": [whole[:n] for n in range(1, len(whole), 97)],
        "longer": [whole + b"\0", whole + whole],
        "empty": [b""],
        "end only": [bag.END],
        "no lists": [whole[:lists] + bag.END],
    }
    for content in changed[change]:
        with pytest.raises(bag.BagRefused):
            read(content)


def test_a_damaged_picture_is_named():
    whole = written()
    damaged = whole.replace(b"w" * 512, b"w" * 511 + b"v")
    with pytest.raises(bag.BagRefused, match="files/just one block"):
        read(damaged)


def foreign_tar(name="stillcount-backup/data/files/x", kind=tarfile.REGTYPE, form="w") -> bytes:
    out = io.BytesIO()
    with tarfile.open(fileobj=out, mode=form, format=tarfile.USTAR_FORMAT) as tar:
        info = tarfile.TarInfo(name)
        info.type, info.linkname, info.size = kind, "/etc/hostname", 3 if kind == b"0" else 0
        tar.addfile(info, io.BytesIO(b"abc"))
    return out.getvalue()


@pytest.mark.parametrize(
    "content",
    [
        b"PK\x03\x04" + bytes(1000),
        foreign_tar("somewhere/else"),
        foreign_tar("stillcount-backup/../../outside"),
        foreign_tar("stillcount-backup//absolute"),
        foreign_tar("/stillcount-backup/x"),
        foreign_tar(kind=tarfile.SYMTYPE),
        foreign_tar(kind=tarfile.LNKTYPE),
        foreign_tar(kind=tarfile.DIRTYPE),
        foreign_tar(kind=tarfile.CHRTYPE),
        foreign_tar(form="w:gz"),
        random.Random(8).randbytes(5000),
    ],
    ids=["zip", "folder", "up", "absolute", "root", "link", "hard", "dir", "device", "gz", "noise"],
)
def test_a_foreign_file_is_refused(content):
    with pytest.raises(bag.BagRefused):
        read(content)


def test_a_header_that_claims_more_than_the_file_has_costs_no_memory():
    block = bag._header("data/files/huge", 8 * 1024**3 - 1, 0)
    tracemalloc.start()
    with pytest.raises(bag.BagRefused, match="cut short"):
        read(block + bytes(100))
    assert tracemalloc.get_traced_memory()[1] < 20 * 1024**2
    tracemalloc.stop()


def test_a_file_that_shrinks_while_it_is_read_is_an_error():
    with pytest.raises(EOFError), bag.BagWriter(io.BytesIO(), MOMENT) as writer:
        writer.add("files/x", io.BytesIO(b"abc"), 4)
