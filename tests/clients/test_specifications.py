"""The specifications the studio keeps: a field for each item, refused in words at the field."""

import json
from fractions import Fraction

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clients.forms.specification import GROUPS, SpecificationForm
from clients.models import StudioSpecification
from clients.services.specifications import add_specification, lay_out_specifications
from clients.trade.specification import BUILT_IN, CHECKS, Specification, from_json
from tests.clients.test_deliverables import words

# An item of every kind, as DEVELOPERS.md writes SPEC.json.
EVERY_ITEM = {
    "container": "mp4", "video_codec": {"codec": "h264", "profile": "High"},
    "width": 1920, "height": 1080, "pixel_aspect": "1:1", "scan": "progressive",
    "frame_rate": "24000/1001", "constant_rate": True,
    "frame_count": {"frames": 720, "tolerance": 2},
    "duration": {"seconds": 30.0, "tolerance": 0.05}, "bit_depth": 8, "chroma": "4:2:0",
    "colour_primaries": 1, "colour_transfer": 1, "colour_matrix": 1, "colour_range": "limited",
    "size": 500_000_000, "name": "{production}_{deliverable}_v{version}.mp4",
    "black": {"head": 0, "inside": 0, "tail": 12}, "freeze": {"longest": 48},
    "cadence": {"exposure": 2}, "audio": "present", "audio_codec": "aac", "sample_rate": 48_000,
    "channels": 2, "loudness": {"target": -23.0, "tolerance": 0.5}, "true_peak": -1.0,
    "captions": {"kind": "srt"}, "flash": {"general": 3, "red": 3}, "stills": 1,
}  # fmt: skip


@pytest.fixture
def kept(studio):
    return add_specification("HD web master", dict(EVERY_ITEM))


def typed(specification: StudioSpecification) -> dict:
    """What a browser sends back when nothing was changed."""
    shown = {field.name: field.value() for field in SpecificationForm(instance=specification)}
    return {
        name: "on" if value is True else str(value)
        for name, value in shown.items()
        if value not in (None, "")
    }


def test_a_new_studio_starts_with_those_that_come_with_it(studio):
    lay_out_specifications(sender=None)
    titles = set(StudioSpecification.objects.values_list("title", flat=True))
    assert titles == {one.title for one in BUILT_IN.values()}
    for row in StudioSpecification.objects.all():
        assert from_json({"title": row.title, **row.items}) in BUILT_IN.values()


def test_every_item_has_a_field():
    fields = {name for _, names in GROUPS for name in names}
    assert {"black_head", "flash_general", "video_profile"} <= fields
    assert set(CHECKS) - fields == {"black", "flash"}


@pytest.mark.parametrize("key", BUILT_IN)
def test_saving_what_comes_with_it_unchanged_changes_nothing(owner_client, key):
    lay_out_specifications(sender=None)
    row = StudioSpecification.objects.get(title=BUILT_IN[key].title)
    assert owner_client.post(f"/specifications/{row.pk}/", typed(row)).status_code == 302
    again = StudioSpecification.objects.get(pk=row.pk)
    assert (again.items, again.version) == (row.items, 1)


def test_every_item_goes_through_the_form_unchanged(owner_client, kept):
    assert owner_client.post(f"/specifications/{kept.pk}/", typed(kept)).status_code == 302
    kept.refresh_from_db()
    assert kept.items == EVERY_ITEM
    assert kept.wanted.frame_rate == Fraction(24000, 1001)


def test_what_is_left_out_is_not_checked(owner_client, studio):
    assert owner_client.post("/specifications/new/", {"title": "Bare"}).status_code == 302
    assert StudioSpecification.objects.get().wanted == Specification()


def test_a_freeze_left_open_means_one_second(owner_client, studio):
    owner_client.post("/specifications/new/", {"title": "Holds", "frozen": "on"})
    assert StudioSpecification.objects.get().items == {"freeze": True}


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("title", "", "required"),
        ("width", "0", "Picture width must be a whole number of pixels from 1 to 16384; got 0."),
        ("width", "-1", "got -1"),
        ("width", "9" * 5000, "whole number"),
        ("height", "1080.5", "whole number"),
        ("container", "exe", "not one of the available choices"),
        ("pixel_aspect", "1:0", "a ratio such as"),
        ("pixel_aspect", "square", "a ratio such as"),
        ("frame_rate", "0", "more than 0"),
        ("frame_rate", "24/0", "24/0"),
        ("frame_rate", "24000/1003", "must be exact"),
        ("frame_rate", "soon", "soon"),
        ("frame_count", "0", "from 1 to"),
        ("frame_tolerance", "3", "Say the length too"),
        ("video_profile", "High", "Say the video codec too"),
        ("loudness_tolerance", "1", "Say the integrated loudness too"),
        ("duration", "-3", "a ratio"),
        ("duration", "1" * 400, "number"),
        ("bit_depth", "7", "from 8 to 16"),
        ("size", "-5", "must be a whole number of bytes"),
        ("size", "1e400", "number"),
        ("name", "../{production}.mp4", "cannot make a safe name"),
        ("name", "a\x07b.mp4", "safe on every system"),
        ("name", "{production.mp4", "brace"),
        ("black_tail", "-1", "from 0"),
        ("freeze", "0", "from 1"),
        ("cadence", "49", "from 1 to 48"),
        ("sample_rate", "1", "from 8000"),
        ("channels", "0", "from 1 to 64"),
        ("loudness", "3", "from -70 to 0"),
        ("loudness", "nan", "number"),
        ("true_peak", "99", "from -40 to 6"),
        ("flash_red", "-1", "from 0"),
        ("stills", "0", "from 1"),
    ],
)
def test_an_impossible_value_is_refused_in_a_sentence_at_its_field(
    owner_client, studio, field, value, sentence
):
    data = {"title": "HD", field: value}
    response = owner_client.post("/specifications/new/", data)
    assert response.status_code == 422
    assert sentence in " ".join(response.context["form"].errors[field])
    assert not StudioSpecification.objects.exists()


def test_a_part_that_is_impossible_is_refused_at_its_own_field(owner_client, studio):
    data = {"title": "HD", "loudness": "-23", "loudness_tolerance": "99"}
    response = owner_client.post("/specifications/new/", data)
    assert "got 99" in " ".join(response.context["form"].errors["loudness_tolerance"])


def test_two_specifications_cannot_share_a_name(owner_client, kept):
    response = owner_client.post("/specifications/new/", {"title": "hd WEB master"})
    assert "already: choose another name" in words(response)


def test_two_people_editing_get_both_versions(owner_client, kept):
    address = f"/specifications/{kept.pk}/"
    owner_client.post(address, typed(kept) | {"width": "1280"})
    late = owner_client.post(address, typed(kept) | {"width": "960"})
    assert late.status_code == 409
    assert [row.label for row in late.context["form"].differences] == ["Picture width"]


def test_a_copy_gets_a_free_name(owner_client, kept):
    for _ in range(3):
        owner_client.post(f"/specifications/{kept.pk}/copy/")
    assert sorted(StudioSpecification.objects.values_list("title", flat=True)) == [
        "HD web master",
        "HD web master (copy 2)",
        "HD web master (copy 3)",
        "HD web master (copy)",
    ]


def test_archiving_offers_an_undo_that_refuses_a_name_given_away(owner_client, kept):
    page = words(owner_client.post(f"/specifications/{kept.pk}/archive/", follow=True))
    assert "HD web master was archived." in page
    add_specification("HD web master", {})
    page = owner_client.post(f"/specifications/{kept.pk}/restore/", follow=True)
    assert "choose another name" in words(page)
    StudioSpecification.objects.current().update(title="Other")
    owner_client.post(f"/specifications/{kept.pk}/restore/")
    kept.refresh_from_db()
    assert kept.archived_at is None


def test_what_goes_out_as_a_file_comes_in_the_same(owner_client, kept):
    out = owner_client.get(f"/specifications/{kept.pk}/SPEC.json")
    assert out.headers["Content-Disposition"] == 'attachment; filename="HD-web-master.json"'
    assert json.loads(out.content) == {"title": "HD web master", **EVERY_ITEM}
    owner_client.post(f"/specifications/{kept.pk}/archive/")
    file = SimpleUploadedFile("SPEC.json", out.content)
    assert owner_client.post("/specifications/import/", {"file": file}).status_code == 302
    assert StudioSpecification.objects.current().get().items == EVERY_ITEM


def test_an_untitled_file_is_called_by_its_name(owner_client, studio):
    file = SimpleUploadedFile("Station master.json", b'{"width": 1920}')
    owner_client.post("/specifications/import/", {"file": file})
    assert StudioSpecification.objects.get().title == "Station master"


@pytest.mark.parametrize(
    ("pasted", "sentence"),
    [
        ('{"widht": 1920}', "no item 'widht'"),
        ('{"width": 0}', "width must be"),
        ('{"frame_rate": 23.976}', "24000/1001"),
        ("{", "not JSON"),
        ("[]", "object in braces"),
        ('{"loudness": NaN}', "loudness must be"),
        ('{"width": ' + "9" * 5000 + "}", "not JSON"),
        ("[" * 100_000, "not JSON"),
        ("", "Choose a file, or paste"),
    ],
)
def test_a_file_that_is_no_specification_is_refused_in_words(
    owner_client, studio, pasted, sentence
):
    response = owner_client.post("/specifications/import/", {"pasted": pasted})
    assert response.status_code == 422
    assert sentence in words(response).replace("&#x27;", "'").replace("&quot;", '"')
    assert not StudioSpecification.objects.exists()


def test_a_file_that_is_no_text_or_too_large_is_refused(owner_client, studio):
    for content in (b"\xff\xfe\x00", b" " * 1_000_001):
        file = SimpleUploadedFile("SPEC.json", content)
        response = owner_client.post("/specifications/import/", {"file": file})
        assert response.status_code == 422


def test_the_list_asks_the_database_the_same_for_one_and_for_many(owner_client, studio):
    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            assert owner_client.get("/specifications/").status_code == 200
        return len(captured)

    add_specification("One", {"width": 1920})
    one = queries()
    lay_out_specifications(sender=None)
    assert queries() == one
