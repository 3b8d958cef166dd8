"""Every address with every odd value: a page in words, never a 500, never a traceback.

STILLCOUNT_FUZZ multiplies how long it goes on: 1 is enough for every change, 50 for a night.
"""

import io
import os
import re
from datetime import datetime

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.http import HttpResponse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shots.models import Picture, Shot
from shots.services.picture_intake import take_in_files
from shots.services.picture_judging import judge_shot
from studio.backup.rows import kept_models
from studio.models import Person
from tests import stills
from tests.conftest import signed_in
from tests.pages.routes import routes
from tests.studio.backup.made_up import NOW, fill_studio

EXAMPLES = int(300 * float(os.environ.get("STILLCOUNT_FUZZ", "1")))
# Where the address calls rows by another name than the model's.
MODEL_OF = {
    "people": "person", "checks": "deliverablecheck", "check": "sessioncheck",
    "issues": "callsheetissue", "work": "longwork", "calendar": "calendarlink",
    "incident": "incident", "count": "shot", "status": "shot", "difference": "picture",
    "days-off": "dayoff", "undo": "planstep",
}  # fmt: skip
NEVER = {"studio:sign_out", "studio:sign_out_everywhere", "studio:person_sign_out"}
FIELD = re.compile(r'<(?:input|select|textarea)[^>]*?\sname="([^"]+)"([^>]*)')
VALUE = re.compile(r'value="([^"]*)"')
CHOICE = re.compile(r'<option value="([^"]*)"')

ODD = [
    "", " ", "0", "-1", "1", "2", "1e309", "1e-309", "NaN", "-Infinity", "9" * 400, "0." + "3" * 99,
    str(2**31), str(2**63), str(-(2**63) - 1), "１２", "½", "1,5", "1.5", "24000/1001", "24/0",
    "1/1000000000000", "0001-01-01", "9999-12-31", "2026-02-30", "2026-03-02", "2026-03-02T25:61",
    "9999-12-31T23:59-14:00", "0001-01-01T00:00+14:00",
    "9999-12-31T23:59", "0001-01-01T00:00", "23:59", "24:00", "00:00:00:99", "4s06f", "1s" * 300,
    "\x00", "a\x00b", "\u202e", "\ufeff", "🦊" * 300, "e\u0301" * 200, "x" * 20000, "<script>",
    "{{ 7 }}", "%s%n", "'; --", "../../etc/passwd", "C:\\x", "//evil.example/", "on", "null",
    "[]", "{}", '{"a": NaN}', "\n" * 500, "=1+1", "EUR", "keep", "draft",
]  # fmt: skip
values = st.one_of(st.sampled_from(ODD), st.text(max_size=30), st.integers().map(str))
words = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\n/"), max_size=20)


@pytest.mark.django_db
def test_no_address_breaks_whatever_is_sent():
    fill_studio()
    take_pictures()
    owner = signed_in(Person.objects.get(role="owner"))
    world = World(owner)

    @settings(
        max_examples=EXAMPLES, derandomize=True, database=None,
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(st.data())
    def try_one(data):
        name = data.draw(st.sampled_from(world.names))
        path = world.filled(name, data)
        sent = world.odd_form(path, data)
        headers = {"HX-Request": "true"} if data.draw(st.booleans()) else {}
        with transaction.atomic():
            answer = owner.post(path, sent, headers=headers)
            _is_in_words(answer, f"POST {path} {sent}")
            transaction.set_rollback(True)
        query = {key: str(value)[:500] for key, value in sent.items() if isinstance(value, str)}
        _is_in_words(owner.get(path, query, headers=headers), f"GET {path} {query}")

    try_one()


def take_pictures() -> None:
    """Three stills in the place of the made-up ones, so that every page of theirs has its fill."""
    Picture.objects.all().delete()
    shot = Shot.objects.filter(production__code="FOX").first()
    scene = stills.Set((640, 480), 6, start=datetime(2026, 11, 24, 9))
    sent = [stills.still(scene, n) for n in range(3)]
    take_in_files(shot, [(one.name, io.BytesIO(one.data)) for one in sent], None, NOW)
    judge_shot(shot, NOW)


def _is_in_words(answer: HttpResponse, what: str) -> None:
    assert answer.status_code < 500, what
    if not answer.streaming:
        assert b"Traceback (most recent call last)" not in answer.content, what


class World:
    """Every address, keys of rows that exist, and the fields each page shows."""

    def __init__(self, browser):
        self._browser = browser
        self._fields: dict[str, dict[str, str]] = {}
        self._routes = {name: route for name, route in routes() if name not in NEVER}
        self.names = sorted(self._routes)
        self._keys = {
            model._meta.model_name: list(model._base_manager.values_list("pk", flat=True)[:20])
            for model in kept_models()
        }

    def filled(self, name: str, data) -> str:
        """The address, with keys of something that may be there."""

        def hole(match) -> str:
            folder, kind, what = match.groups()
            if kind == "int":
                keys = self._keys.get(MODEL_OF.get(folder, folder.replace("-", "")[:-1])) or [1]
                return f"{folder}/{data.draw(st.sampled_from([*keys, 0, 10**30]))}"
            known = {"code": ["FOX"] * 5 + ["fox", "NONE"], "day": ["2026-11-24", "2026-99-99"]}
            return f"{folder}/{data.draw(st.sampled_from(known.get(what, ['x', '..', '0'])))}"

        return re.sub(r"([\w-]+)/<(?:(\w+):)?(\w+)>", hole, self._routes[name])

    def odd_form(self, path: str, data) -> dict:
        """What the page would send, with some of it replaced by something odd."""
        if path not in self._fields:
            self._fields[path] = _fields(self._browser.get(path))
        sent = dict(self._fields[path])
        names = [*sent, "count", "add", "value", "verdict", "next", "page", "as_at"]
        for name in data.draw(st.lists(st.sampled_from(names), min_size=1, max_size=4)):
            sent[name] = data.draw(values)
        if data.draw(st.integers(0, 9)) == 0:
            content = data.draw(st.binary(max_size=60))
            upload = SimpleUploadedFile(data.draw(words).strip(".") or "x", content)
            sent[data.draw(st.sampled_from(["file", "picture", "pictures", "list"]))] = upload
        return sent


def _fields(answer: HttpResponse) -> dict[str, str]:
    """Name and value of every field a page shows; of a choice, its last."""
    if answer.status_code != 200 or answer.streaming:
        return {}
    page = answer.content.decode(errors="replace")
    found = {}
    for match in FIELD.finditer(page):
        value = VALUE.search(match[2])
        if value is None and (choices := CHOICE.findall(page[match.end() : match.end() + 2000])):
            found[match[1]] = choices[-1]
        else:
            found[match[1]] = value[1] if value else ""
    found.pop("csrfmiddlewaretoken", None)
    return found
