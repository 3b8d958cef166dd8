"""Previews: asked for, made as long work, watched, downloaded, replaced."""

import io
from datetime import UTC, datetime
from pathlib import Path

import av
import pytest
from django.core.files.storage import default_storage
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from shots.models import Picture, Preview
from shots.services.picture_intake import take_in_files
from shots.services.pictures import give_verdict, hold_picture, keep_originals
from shots.services.previews import ask_for_preview
from studio import long_work
from studio.errors import NotPossible
from studio.models import LongWork
from tests import factories, stills

NOW = datetime(2026, 3, 5, 12, tzinfo=UTC)
pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def row() -> list[stills.Still]:
    """Four pictures in a row."""
    set_ = stills.Set((640, 480), 6, start=datetime(2026, 3, 2, 15, 55, 55))
    return [stills.still(set_, n) for n in range(4)]


@pytest.fixture
def shot(studio):
    return factories.ShotFactory(production__code="FELT", code="A010", screen_frames=10)


@pytest.fixture
def taken(shot, row) -> list[Picture]:
    """The first of them held for four frames."""
    files = [(one.name, io.BytesIO(one.data)) for one in row]
    pictures = take_in_files(shot, files, None, NOW).new
    hold_picture(pictures[0], 4)
    return pictures


def made(production, shot, person) -> Preview:
    preview = ask_for_preview(production, shot, person)
    long_work.carry_out.call(preview.work_id)
    preview.refresh_from_db()
    return preview


def frames_in(preview: Preview) -> int:
    with preview.file.open("rb") as file, av.open(file) as film:
        return sum(1 for _ in film.decode(video=0))


def test_a_shots_preview_has_its_pictures_and_their_holds(shot, taken, owner):
    preview = made(shot.production, shot, owner)
    assert preview.work.state == LongWork.State.DONE
    assert preview.work.note == "10 frames from 4 pictures."
    assert preview.work.result_url == f"/productions/FELT/shots/{shot.pk}/preview/"
    assert (preview.frames, preview.pictures, frames_in(preview)) == (10, 4, 10)


def test_a_discarded_picture_is_left_out(shot, taken, owner):
    give_verdict(taken[1], Picture.Verdict.DISCARD)
    assert made(shot.production, shot, owner).frames == 8


def test_the_film_takes_its_shots_in_order_with_cards_for_what_is_to_come(shot, taken, owner):
    film = shot.production
    factories.ShotFactory(production=film, code="A000", position=0, screen_frames=6)
    cut = factories.ShotFactory(production=film, code="A005", position=1, status="cut")
    shot.position = 2
    shot.save()
    preview = made(film, None, owner)
    assert cut.status == "cut"
    assert (preview.frames, frames_in(preview)) == (16, 16)


def test_the_largest_kept_version_is_shown_and_small_ones_are_counted(shot, taken, row, owner):
    assert made(shot.production, shot, owner).small == 4
    keep_originals(shot.production, True)
    shot.refresh_from_db()
    Picture.objects.all().delete()
    take_in_files(shot, [(row[0].name, io.BytesIO(row[0].data))], None, NOW)
    assert made(shot.production, shot, owner).small == 0


def test_made_anew_it_takes_the_place_of_the_one_before(
    shot, taken, owner, django_capture_on_commit_callbacks
):
    before = made(shot.production, shot, owner).file.name
    with django_capture_on_commit_callbacks(execute=True):
        after = made(shot.production, shot, owner).file.name
    assert Preview.objects.count() == 1
    assert not default_storage.exists(before)
    assert default_storage.exists(after)


def test_asked_for_twice_it_is_made_once(shot, taken, owner, crew):
    one = ask_for_preview(shot.production, shot, owner)
    other = ask_for_preview(shot.production, shot, crew)
    assert one.work_id == other.work_id
    assert LongWork.objects.count() == 1


def test_without_pictures_it_is_refused(shot, owner):
    with pytest.raises(NotPossible, match="no pictures yet"):
        ask_for_preview(shot.production, shot, owner)
    assert not LongWork.objects.exists()


def test_stopped_it_keeps_the_one_before_and_nothing_half_made(shot, taken, owner, settings):
    before = made(shot.production, shot, owner)
    again = ask_for_preview(shot.production, shot, owner)
    LongWork.objects.filter(pk=again.work_id).update(stop_wanted=True)
    long_work.carry_out.call(again.work_id)
    again.refresh_from_db()
    assert again.work.state == LongWork.State.STOPPED
    assert again.file.name == before.file.name
    assert [path.name for path in Path(settings.MEDIA_ROOT, "previews").iterdir()] == [
        Path(before.file.name).name
    ]


def test_a_film_that_flashes_is_shown_with_a_caution(shot, taken, owner, owner_client):
    assert not made(shot.production, shot, owner).flashes
    shot.pictures.update(frames=1)
    # WCAG 2.2: more than three flashes, light and dark, in a second.
    for first, brightness in ((0, 0.8), (1, 0.05)):
        keys = [one.pk for one in taken[first::2]]
        Picture.objects.filter(pk__in=keys).update(brightness=brightness)
    shot.screen_frames, shot.reused_frames = 24, 20
    shot.save()
    assert made(shot.production, shot, owner).flashes
    page = owner_client.get(reverse("shots:shot_preview", args=["FELT", shot.pk]))
    assert "Caution: it flashes" in page.content.decode()


def test_a_lost_picture_leaves_a_card(shot, taken, owner):
    default_storage.delete(taken[2].thumbnail.name)
    assert made(shot.production, shot, owner).work.note == "10 frames from 4 pictures."


# --- pages -------------------------------------------------------------------------------


def test_crew_have_it_made_watch_it_from_anywhere_and_save_it(shot, taken, crew, crew_client):
    address = reverse("shots:shot_preview", args=["FELT", shot.pk])
    answer = crew_client.post(address)
    assert answer.headers["Location"] == address
    assert "Waiting for its turn" in crew_client.get(address).content.decode()
    long_work.carry_out.call(LongWork.objects.get().pk)
    page = crew_client.get(address).content.decode()
    assert "<video controls" in page
    assert "from 4 pictures" in page
    assert "4 of them are shown from the thumbnail" in page

    film = reverse("shots:shot_preview_file", args=["FELT", shot.pk])
    part = crew_client.get(film, headers={"Range": "bytes=0-99"})
    assert part.status_code == 206
    assert b"ftyp" in b"".join(part.streaming_content)
    saved = crew_client.get(film, {"save": ""})
    assert saved.headers["Content-Disposition"] == 'attachment; filename="FELT_A010_preview.mp4"'
    assert saved.headers["Content-Type"] == "video/mp4"
    b"".join(saved.streaming_content)


def test_the_page_says_when_other_pictures_are_kept_now(shot, taken, owner, owner_client):
    made(shot.production, shot, owner)
    address = reverse("shots:shot_preview", args=["FELT", shot.pk])
    assert "make it anew" not in owner_client.get(address).content.decode()
    give_verdict(taken[0], Picture.Verdict.DISCARD)
    assert "Now 3 are kept: make it anew." in owner_client.get(address).content.decode()


def test_a_film_that_is_gone_is_said_and_made_anew(shot, taken, owner, owner_client):
    lost = made(shot.production, shot, owner)
    default_storage.delete(lost.file.name)
    address = reverse("shots:shot_preview", args=["FELT", shot.pk])
    page = owner_client.get(address).content.decode()
    assert "The film of this preview is not there any more." in page
    assert "Make it anew" in page
    assert "<video" not in page
    assert (
        owner_client.get(reverse("shots:shot_preview_file", args=["FELT", shot.pk])).status_code
        == 404
    )

    owner_client.post(address)
    long_work.carry_out.call(LongWork.objects.latest("pk").pk)
    assert "<video controls" in owner_client.get(address).content.decode()


def test_another_persons_making_is_told_without_its_progress(shot, taken, owner, crew_client):
    ask_for_preview(shot.production, shot, owner)
    page = crew_client.get(reverse("shots:shot_preview", args=["FELT", shot.pk])).content.decode()
    assert "Ida Morrow asked for it" in page
    assert reverse("studio:all_work") not in page


def test_asking_without_pictures_says_why(shot, owner_client):
    answer = owner_client.post(reverse("shots:film_preview", args=["FELT"]), follow=True)
    assert "There are no pictures yet" in answer.content.decode()


def test_what_was_never_made_is_not_found(shot, owner_client):
    for name, args in (("film", ["FELT"]), ("shot", ["FELT", shot.pk])):
        assert owner_client.get(reverse(f"shots:{name}_preview_file", args=args)).status_code == 404


def test_a_film_of_many_pictures_costs_no_more_queries(shot, taken, row, owner_client):
    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as found:
            owner_client.get(reverse("shots:film_preview", args=["FELT"]))
        return len(found)

    few = queries()
    for n in range(6):
        more = factories.ShotFactory(production=shot.production, code=f"B{n}")
        take_in_files(more, [(one.name, io.BytesIO(one.data)) for one in row], None, NOW)
    assert queries() == few
