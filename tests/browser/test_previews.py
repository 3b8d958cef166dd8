"""From a shot's pictures to a preview that plays, in a real browser."""

import io
from datetime import UTC, datetime

from playwright.sync_api import expect

from shots.services.picture_intake import take_in_files
from studio import long_work
from studio.models import LongWork
from tests import factories, stills


def test_a_preview_is_asked_for_made_watched_and_saved(page, studio, accessible):
    shot = factories.ShotFactory(
        production__code="FELT", code="A010", description="Fox waves", screen_frames=48
    )
    set_ = stills.Set((640, 480), 6, start=datetime(2026, 3, 2, 15, 55, 55))
    row = [stills.still(set_, n) for n in range(12)]
    files = [(one.name, io.BytesIO(one.data)) for one in row]
    take_in_files(shot, files, None, datetime(2026, 3, 5, 12, tzinfo=UTC))

    page.goto(f"/productions/FELT/shots/{shot.pk}/pictures/")
    page.get_by_role("link", name="Preview film").click()
    accessible(page)
    page.get_by_role("button", name="Make the preview").click()
    expect(page.get_by_text("Waiting for its turn")).to_be_visible()
    accessible(page)
    long_work.carry_out.call(LongWork.objects.get().pk)
    expect(page.get_by_text("1 s 00 f from 12 pictures")).to_be_visible(timeout=15_000)
    accessible(page)
    assert page.evaluate(
        """async () => {
            const film = document.querySelector("video");
            film.muted = true;
            film.currentTime = 0.5;
            await new Promise(done => film.addEventListener("seeked", done, { once: true }));
            await film.play();
            await new Promise(done => film.addEventListener("ended", done, { once: true }));
            return [film.videoWidth, film.videoHeight, film.duration, film.error];
        }"""
    ) == [960, 760, 1, None]
    with page.expect_download() as saved:
        page.get_by_role("link", name="Download").click()
    assert saved.value.suggested_filename == "FELT_A010_preview.mp4"

    page.goto("/productions/FELT/")
    page.get_by_role("link", name="Preview film").click()
    page.get_by_role("button", name="Make the preview").click()
    expect(page.get_by_text("Waiting for its turn")).to_be_visible()
    long_work.carry_out.call(LongWork.objects.latest("pk").pk)
    expect(page.get_by_text("2 s 00 f from 12 pictures")).to_be_visible(timeout=15_000)
