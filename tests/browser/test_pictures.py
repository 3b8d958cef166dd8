"""From a folder of pictures to a logged session and a discarded picture, in a real browser."""

import shutil
from datetime import datetime

import pytest
from playwright.sync_api import expect

from shots.models import Picture, SessionShot
from tests import factories, stills


@pytest.fixture(scope="module")
def card(tmp_path_factory):
    """Twelve pictures; in the sixth a hand was left in. And one file that is cut short."""
    folder = tmp_path_factory.mktemp("card")
    set_ = stills.Set((640, 480), 6, start=datetime(2026, 3, 2, 15, 55, 55))
    row = [stills.still(set_, n) for n in range(12)]
    row[5] = stills.shot_with(set_, 12, stills.Fault("hand", 0.1), at=5)[5]
    for one in row:
        (folder / one.name).write_bytes(one.data)
    (folder / "P0013.jpg").write_bytes(row[0].data[:3000])
    return folder


@pytest.fixture
def shot(studio):
    return factories.ShotFactory(production__code="FELT", code="A010", description="Fox waves")


def test_a_folder_is_sent_logged_looked_at_and_a_picture_discarded(page, shot, card, accessible):
    page.goto("/productions/FELT/pictures/")
    accessible(page)
    page.get_by_role("link", name="A010").click()
    accessible(page)
    page.get_by_label("Pictures", exact=True).set_input_files(sorted(card.iterdir()))
    page.get_by_role("button", name="Add them").click()
    expect(page.get_by_text("13 of 13", exact=False)).to_be_visible(timeout=30_000)
    expect(page.get_by_text("All judged.", exact=False)).to_be_visible(timeout=30_000)
    expect(page.get_by_text("P0013.jpg is damaged or cut short", exact=False)).to_be_visible()
    expect(page.get_by_text("12 of 24")).to_be_visible()
    expect(page.get_by_text("looked at only roughly", exact=False)).to_be_hidden()
    accessible(page)

    # Sent again: all of them are known, none is sent twice.
    page.get_by_label("Pictures", exact=True).set_input_files(sorted(card.iterdir()))
    page.get_by_role("button", name="Add them").click()
    expect(page.get_by_text("12 were in already", exact=False)).to_be_visible(timeout=30_000)
    expect(page.get_by_text("All judged.", exact=False)).to_be_visible(timeout=30_000)
    assert Picture.objects.count() == 12

    page.get_by_role("button", name="Log 12 pictures").click()
    expect(page.get_by_text("12 pictures logged in 1 session.")).to_be_visible()
    assert SessionShot.objects.get().kept == 12

    page.get_by_role("link", name="Show only the flagged").click()
    accessible(page)
    page.get_by_role("link", name="P0006.jpg").click()
    expect(page.get_by_text("Something left in at", exact=False)).to_be_visible()
    accessible(page)
    page.get_by_role("button", name="Discard").click()
    expect(page.get_by_text("Marked: discard.", exact=False)).to_be_visible()
    accessible(page)
    assert (SessionShot.objects.get().kept, SessionShot.objects.get().discarded) == (11, 1)
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("button", name="Leave it")).to_have_attribute("aria-pressed", "true")
    assert (SessionShot.objects.get().kept, SessionShot.objects.get().discarded) == (12, 0)
    page.get_by_role("button", name="Discard").click()

    page.get_by_role("link", name="All pictures of A010").click()
    page.get_by_role("link", name="Play", exact=True).click()
    expect(page.get_by_text("Picture 1, 1 of 11, 2 frames")).to_be_visible()
    accessible(page)
    page.get_by_role("button", name="One picture on").click()
    page.get_by_label("Lay the picture before over it").check()
    expect(page.locator("img.before")).to_be_visible()
    page.get_by_label("Loop").uncheck()
    page.get_by_role("button", name="Play").click()
    expect(page.get_by_text("Picture 12, 11 of 11, 2 frames")).to_be_visible()
    expect(page.get_by_role("button", name="Play")).to_be_visible()


def test_a_dropped_folder_goes_on_after_a_lost_connection(page, shot, card):
    page.goto(f"/productions/FELT/shots/{shot.pk}/pictures/")
    asked, reached = [], []

    def sometimes(route):
        """The first picture is lost on its way there, of the second the answer on its way back."""
        asked.append(route)
        if len(asked) != 1:
            reached.append(route.fetch())
        if len(asked) <= 2:
            # No answer of ours. (A broken-off request would be logged as an error of the page.)
            route.fulfill(status=499, body="")
        else:
            route.fulfill(response=reached[-1])

    page.route("**/pictures/add/", sometimes)
    names = ["P0001.jpg", "P0002.jpg", "P0003.jpg"]
    contents = [list((card / name).read_bytes()) for name in names]
    page.evaluate(
        """([names, contents]) => {
            const carried = new DataTransfer();
            names.forEach((name, n) => carried.items.add(
                new File([new Uint8Array(contents[n])], name, {type: "image/jpeg"})));
            document.getElementById("upload").dispatchEvent(
                new DragEvent("drop", {dataTransfer: carried, bubbles: true, cancelable: true}));
        }""",
        [names, contents],
    )
    expect(page.get_by_text("The connection is lost", exact=False)).to_be_visible()
    page.get_by_role("button", name="Go on").click()
    expect(page.get_by_text("All judged.", exact=False)).to_be_visible(timeout=30_000)
    assert sorted(Picture.objects.values_list("name", flat=True)) == names
    assert len(reached) == 3  # what had arrived was not sent again


def test_a_day_is_dropped_as_folders_named_by_shots(page, shot, card, tmp_path, accessible):
    other = factories.ShotFactory(production=shot.production, code="A020")
    for code, names in {"a010": ["P0001", "P0002"], "A020": ["P0003"], "A999": ["P0004"]}.items():
        (tmp_path / code).mkdir()
        for name in names:
            shutil.copy(card / f"{name}.jpg", tmp_path / code)
    page.goto("/productions/FELT/pictures/")
    drop(page, tmp_path)
    expect(page.get_by_text("3 of 3. All judged.")).to_be_visible(timeout=30_000)
    left_alone = page.get_by_text("A999: no shot has that code, so its folder was left alone.")
    expect(left_alone).to_be_visible()
    expect(page.get_by_role("button", name="Log 3 pictures")).to_be_visible()
    expect(page.get_by_role("button", name="Pause")).to_be_hidden()
    accessible(page)
    assert (shot.pictures.count(), other.pictures.count()) == (2, 1)

    # The same folder on the page of one shot: only what is that shot's.
    page.goto(f"/productions/FELT/shots/{other.pk}/pictures/")
    drop(page, tmp_path)
    expect(page.get_by_text("1 of 1, 1 was in already. All judged.")).to_be_visible()
    expect(page.get_by_text("a010: this shot has another code")).to_be_visible()
    assert Picture.objects.count() == 3


def drop(page, folder):
    """Drop a folder as a hand does; a script cannot make one."""
    page.wait_for_load_state("networkidle")
    box = page.locator("#upload").bounding_box()
    carried = {"items": [], "files": [str(folder)], "dragOperationsMask": 1}
    where = {"x": box["x"] + 20, "y": box["y"] + 20, "data": carried}
    session = page.context.new_cdp_session(page)
    for step in ("dragEnter", "dragOver", "drop"):
        session.send("Input.dispatchDragEvent", {"type": step, **where})


def test_sending_pauses_and_waits_for_a_lost_connection(page, shot, card):
    page.goto(f"/productions/FELT/shots/{shot.pk}/pictures/")
    page.wait_for_load_state("networkidle")
    sent = []
    page.route("**/pictures/add/", lambda route: sent.append(route))  # held until paused
    page.get_by_label("Pictures", exact=True).set_input_files(sorted(card.glob("P00*.jpg"))[:8])
    page.get_by_role("button", name="Add them").click()
    page.get_by_role("button", name="Pause").click()
    while len(sent) < 2:
        page.wait_for_timeout(20)
    for route in sent:
        route.continue_()
    expect(page.get_by_text("2 of 8. Paused.")).to_be_visible()
    assert len(sent) == 2

    page.unroute("**/pictures/add/")
    page.context.set_offline(True)
    page.get_by_role("button", name="Go on").click()
    expect(page.get_by_text("The connection is lost", exact=False)).to_be_visible()
    assert shot.pictures.count() == 2
    page.context.set_offline(False)
    expect(page.get_by_text("8 of 8. All judged.")).to_be_visible(timeout=30_000)
    assert shot.pictures.count() == 8


def test_the_sheet_shows_one_picture_judged(page, shot, card):
    """It is judged while the sheet is still being fetched for its arrival."""
    page.goto(f"/productions/FELT/shots/{shot.pk}/pictures/")
    page.wait_for_load_state("networkidle")
    page.get_by_label("Pictures", exact=True).set_input_files(card / "P0001.jpg")
    page.get_by_role("button", name="Add them").click()
    expect(page.get_by_text("1 of 1. All judged.")).to_be_visible(timeout=30_000)
    expect(page.get_by_text("1 of 24")).to_be_visible()
    expect(page.get_by_text("looked at only roughly", exact=False)).to_be_hidden()


def test_the_plain_arithmetic_gives_the_same_hash(page, shot):
    """FIPS 180-4 example "abc", and lengths at the edges of a block, against the browser's own."""
    page.goto(f"/productions/FELT/shots/{shot.pk}/pictures/")
    found = page.evaluate(
        """async () => {
            const { digest } = await import("/static/shots/sha256.js");
            const hex = (bytes) => [...new Uint8Array(bytes)]
                .map((byte) => byte.toString(16).padStart(2, "0")).join("");
            const wrong = [];
            for (const length of [0, 1, 55, 56, 63, 64, 65, 1000]) {
                const bytes = Uint8Array.from({length}, (_, n) => (n * 7) % 256);
                const own = hex(await crypto.subtle.digest("SHA-256", bytes));
                if (hex(digest(bytes)) !== own) wrong.push(length);
            }
            return [hex(digest(new TextEncoder().encode("abc"))), wrong];
        }"""
    )
    assert found == ["ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad", []]
