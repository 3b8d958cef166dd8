"""Files that were damaged, or made to do damage: read, or refused in a sentence.

Each kind goes on for STILLCOUNT_FUZZ_SECONDS (3, where nothing else is said).
"""

import copy
import io
import json
import multiprocessing
import os
import random
import time
import traceback
import warnings
from collections.abc import Callable
from datetime import datetime
from fractions import Fraction
from pathlib import Path

import opentimelineio as otio
import pytest
from PIL import Image

from clients.trade.checks.captions import faults_of, read_captions
from clients.trade.quoting.errors import QuoteError
from clients.trade.quoting.price_file import price_from_json
from clients.trade.specification import SpecificationRefused, from_json, to_json
from shots.edit_reading import EditError, read_edit
from shots.measuring import prepare
from shots.reading import PictureError
from shots.storyboard import StoryboardError, as_jpeg
from shots.trade import shot_list
from shots.trade.forecast import HistoryError, history_from_json
from studio.trade.manifest import ManifestRefused, read_manifest
from tests import stills
from tests.clients.commands.test_price import FILM
from tests.shots.trade.test_forecast_exchange import FILE as HISTORY

SECONDS = float(os.environ.get("STILLCOUNT_FUZZ_SECONDS", "3"))
RATE = Fraction(24)
BROKE = 3  # exit status of a child that raised what it should not
SCENE = stills.Set((320, 240), 6, start=datetime(2026, 3, 2, 9))
SHOTS = "code,description,length,exposure,set-up\n010,“Ωmega”,4s06f,2,K1\n020,two,48f,1,K1\n"
CAPTIONS = "WEBVTT\n\n1\n00:00:01.000 --> 00:00:02.500\nHello\n\n00:03.000 --> 00:04.000\nThere\n"
MANIFEST = f"{'a' * 64}  data/film.mp4\n{'b' * 64}  data/50%25.srt\n"
SPECIFICATION = {
    "title": "HD web master", "container": "mp4", "video_codec": {"codec": "h264"}, "width": 1920,
    "frame_rate": "24000/1001", "length": {"frames": 720}, "name": "{deliverable}.mp4",
    "black": {"head": 0, "inside": 0, "tail": 12}, "loudness": {"target": -23.0}, "stills": 1,
}  # fmt: skip

ODD_BYTES = [b"\x00", b"\xff" * 4, b"\x7f\xff\xff\xff", b"\x80\x00\x00\x00", b"\x00" * 64, b"\r"]
ODD_VALUES = [
    None, True, 0, -1, 1, 2**31, 2**70, 1e308, 1e-308, float("nan"), float("inf"), "", "x" * 5000,
    "\x00", "9" * 400, "1/0", "NaN", "-Infinity", "2026-02-30", "0001-01-01", "9999-12-31", [], {},
    [[]], {"a": 1}, "24000/1001", 10**400, -0.0, "½",
]  # fmt: skip


def damaged(content: bytes, chance: random.Random) -> bytes:
    """The same with one to four places changed, cut out, doubled or put in, or cut short."""
    content = bytearray(content)
    for _ in range(chance.randint(1, 4)):
        at = chance.randrange(len(content) + 1)
        until = min(len(content), at + chance.choice([1, 1, 2, 4, 40, 400]))
        match chance.randrange(6):
            case 0:
                content[at:until] = chance.randbytes(until - at)
            case 1:
                del content[at:until]
            case 2:
                content[at:at] = content[at:until]
            case 3:
                content[at:until] = chance.choice(ODD_BYTES)
            case 4:
                content[at:at] = chance.choice(ODD_BYTES)
            case 5 if chance.random() < 0.2:
                del content[at:]
    return bytes(content)


def odd(document: dict, chance: random.Random) -> object:
    """The same JSON with one to three of its values, or its names, replaced by odd ones."""
    document = copy.deepcopy(document)
    for _ in range(chance.randint(1, 3)):
        places = list(_places(document))
        if not places:
            break
        where, key = chance.choice(places)
        if isinstance(where, dict) and chance.random() < 0.15:
            where[str(chance.choice(ODD_VALUES))[:20]] = where.pop(key)
        else:
            where[key] = copy.deepcopy(chance.choice(ODD_VALUES))
    return document


def _places(node):
    items = node.items() if isinstance(node, dict) else enumerate(node)
    for key, value in list(items):
        yield node, key
        if isinstance(value, dict | list):
            yield from _places(value)


def picture(content: bytes) -> None:
    """As a picture is taken in: read and measured."""
    prepare(io.BytesIO(content), "P0001.jpg")


def saved(form: str) -> bytes:
    with Image.open(io.BytesIO(stills.still(SCENE, 0).data)) as still:
        out = io.BytesIO()
        still.save(out, form, exif=still.getexif())
        return out.getvalue()


def otio_text() -> bytes:
    span = otio.opentime.TimeRange(
        otio.opentime.RationalTime(0, 24), otio.opentime.RationalTime(48, 24)
    )
    clips = [otio.schema.Clip(f"0{n}0", source_range=span) for n in range(3)]
    track = otio.schema.Track(children=clips, kind=otio.schema.TrackKind.Video)
    timeline = otio.schema.Timeline("cut", tracks=[track])
    return otio.adapters.write_to_string(timeline, "otio_json").encode()


def shots_listed(content: bytes) -> None:
    shot_list.read(shot_list.decode(content), RATE)


def captions(content: bytes) -> None:
    faults_of(read_captions(content.decode(errors="replace")), 30.0)


def manifest(content: bytes) -> None:
    read_manifest(content.decode(errors="replace"))


BYTES = {
    "JPEG still": (lambda: stills.still(SCENE, 0).data, picture, PictureError),
    "PNG still": (lambda: saved("PNG"), picture, PictureError),
    "storyboard": (lambda: saved("WEBP"), lambda one: as_jpeg(one, 10**7), StoryboardError),
    "TIFF storyboard": (lambda: saved("TIFF"), lambda one: as_jpeg(one, 10**7), StoryboardError),
    "shot list": (SHOTS.encode, shots_listed, shot_list.ListError),
    "captions": (CAPTIONS.encode, captions, ()),
    "manifest": (MANIFEST.encode, manifest, ManifestRefused),
}
JSON = {
    "price": (FILM, price_from_json, QuoteError),
    "history": (HISTORY, history_from_json, HistoryError),
    "specification": (SPECIFICATION, lambda one: to_json(from_json(one)), SpecificationRefused),
}


def go_on(make: Callable[[random.Random], object], read: Callable, refusals) -> None:
    """Make and read one after the other, until the time is up."""
    chance, tried, until = random.Random(8), 0, time.monotonic() + SECONDS
    while time.monotonic() < until:
        sent = make(chance)
        tried += 1
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                read(sent)
        except refusals:
            pass
        except Exception as error:
            raise AssertionError(f"Number {tried}, {str(sent)[:2000]}") from error
    assert tried > 3


@pytest.mark.parametrize("kind", BYTES)
def test_damaged_files_are_read_or_refused(kind):
    make, read, refusals = BYTES[kind]
    whole = make()
    read(whole)
    go_on(lambda chance: damaged(whole, chance), read, refusals)


@pytest.mark.parametrize("kind", JSON)
def test_odd_json_is_read_or_refused(kind):
    document, read, refusals = JSON[kind]
    read(document)
    go_on(lambda chance: odd(document, chance), read, refusals)


def test_odd_edits_are_read_or_refused(tmp_path):
    whole = otio_text()
    path = tmp_path / "cut.otio"

    def make(chance):
        if chance.random() < 0.5:
            return damaged(whole, chance)
        return json.dumps(odd(json.loads(whole), chance)).encode()

    def read(content: bytes) -> None:
        """In a child, as the site does it: the reader itself may crash on a damaged file."""
        path.write_bytes(content)
        child = multiprocessing.get_context("fork").Process(target=_read_or_refuse, args=(path,))
        child.start()
        child.join()
        assert child.exitcode != BROKE

    read(whole)
    go_on(make, read, ())


def _read_or_refuse(path: Path) -> None:
    try:
        read_edit(path, RATE)
    except EditError:
        pass
    except Exception:
        traceback.print_exc()
        os._exit(BROKE)
    os._exit(0)
