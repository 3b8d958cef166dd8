"""Backups as a stranger or an accident would make them, and a studio worth backing up."""

import gzip
import io
import json
from datetime import UTC, date, datetime
from pathlib import Path

from django.core.files.base import ContentFile
from django_otp.plugins.otp_totp.models import TOTPDevice

from clients import demo_studio
from shots.models import Picture, Shot, Wish
from studio.backup.bag import BagWriter, read_bag
from studio.backup.description import Description, known
from studio.models import Person

NOW = datetime(2026, 11, 25, 18, 30, 0, 123456, tzinfo=UTC)


def fill_studio() -> None:
    """The demo studio, with what it has not: pictures, wishes, odd text and exact numbers."""
    demo_studio.fill(date(2026, 11, 25))
    TOTPDevice.objects.create(user=Person.objects.first(), name="telephone")
    shot = Shot.objects.filter(production__code="FOX").first()
    shot.notes = "Ωmega “felt” 'fox' \\ \n\t🦊 zażółć"
    shot.save()
    wish = Wish.objects.create(shot=shot, pinned=date(2026, 12, 1))
    wish.people.set(Person.objects.all())
    wish.after.set(Shot.objects.exclude(pk=shot.pk)[:2])
    for n in range(3):
        picture = Picture(
            shot=shot, sha256=f"{n:064}", name=f"fox_{n}.jpg", place=f"{n}", day=date(2026, 11, 24),
            width=6000, height=4000, brightness=0.1 + n / 3, measure=bytes(range(256)) * (n + 1),
            settings={"iso": 100, "shutter": 1e-7, "odd": [1.5, None, {"z": 1, "a": 2}]},
            taken_at=NOW, added_at=NOW,
        )  # fmt: skip
        picture.thumbnail.save("", ContentFile(b"\xff\xd8" + bytes([n]) * 3000), save=False)
        picture.save()


def rows_in(path: Path) -> dict[str, list[dict]]:
    """Every row of a backup, by the file it stands in."""
    found = {}
    with path.open("rb") as stream:
        for member in read_bag(stream):
            if member.path.startswith("data/rows/"):
                lines = gzip.decompress(member.content.read()).splitlines()
                found.setdefault(member.path.split("/")[2], []).extend(map(json.loads, lines))
    return found


def files_in(path: Path) -> dict[str, bytes]:
    """Every kept file of a backup."""
    with path.open("rb") as stream:
        return {
            member.path: member.content.read()
            for member in read_bag(stream)
            if member.path.startswith("data/files/")
        }


def packed(*rows: dict) -> bytes:
    return gzip.compress("\n".join(map(json.dumps, rows)).encode())


def made_up(path: Path, members: dict[str, bytes], rows=None, migrations=None, tag=None) -> Path:
    """A whole bag with right sums that Stillcount never made."""
    described = Description(NOW, tuple(sorted(migrations or known())), rows or {})
    with path.open("wb") as out, BagWriter(out, NOW) as bag:
        bag.add_tag("backup.json", tag or described.to_bytes())
        for name, content in members.items():
            bag.add(name, io.BytesIO(content), len(content))
    return path
