"""The table of shots in a real browser: edited in place, moved, split, brought in as a list."""

import pytest
from PIL import Image
from playwright.sync_api import expect

from shots.models import Shot
from tests import factories


@pytest.fixture
def film(studio):
    medium = factories.DifficultyFactory()
    film = factories.ProductionFactory(code="FELT", title="The Felt Fox")
    setup = factories.SetupFactory(production=film, code="S1")
    for position, code in enumerate(["A010", "A020", "A030"]):
        factories.ShotFactory(
            production=film,
            code=code,
            position=position,
            setup=setup,
            difficulty=medium,
            description=f"Fox looks for the paper moon behind {code}",
        )
    return film


def expect_order(page, *codes: str) -> None:
    expect(page.locator("table.shots tbody th a")).to_have_text(list(codes))


def edit(page, code: str) -> None:
    """Open a row and wait until its first entry has the focus, which would take what is typed."""
    page.get_by_role("link", name=f"Edit {code}").click()
    expect(page.locator("tr.editing").get_by_label("What happens")).to_be_focused()


def test_a_shot_is_edited_in_its_row(page, film, accessible):
    page.goto("/productions/FELT/shots/")
    accessible(page)
    edit(page, "A020")
    row = page.locator("tr.editing")
    row.get_by_label("Length").fill("4s06f")
    expect(row.get_by_text("51 pictures to take")).to_be_visible()
    row.get_by_label("Held frames").fill("500")
    expect(row.get_by_text("Holds: 500 held frames need at least 1 hold")).to_be_visible()
    row.get_by_role("button", name="Save").click()
    expect(row.get_by_text("Not saved yet")).to_be_visible()
    accessible(page)
    row.get_by_label("Held frames").fill("12")
    row.get_by_label("Holds").fill("1")
    row.get_by_role("button", name="Save").click()
    expect(page.locator("tr.editing")).to_have_count(0)
    # ceil((102 - 12) / 2) + 1
    expect(page.locator("#shot-totals")).to_contain_text("94")
    assert Shot.objects.get(code="A020").budget == 46


def test_shots_are_moved_copied_split_cut_and_archived(page, film, accessible):
    page.goto("/productions/FELT/shots/")
    page.get_by_role("button", name="Move A030 up").click()
    expect_order(page, "A010", "A030", "A020")
    if page.viewport_size["width"] > 600:
        grip = page.locator("tr", has_text="A020").locator(".grip")
        grip.drag_to(page.locator("tr", has_text="A010").first, target_position={"x": 30, "y": 4})
        expect_order(page, "A020", "A010", "A030")
    edit(page, "A010")
    page.get_by_label("Split after").fill("2 s")
    page.get_by_role("button", name="Split").click()
    expect(page.get_by_text("cannot be split at 2 s 00 f")).to_be_visible()
    page.get_by_label("Split after").fill("1.5")
    page.get_by_role("button", name="Split").click()
    expect(page.get_by_role("link", name="A010-2", exact=True)).to_be_visible()
    edit(page, "A010-2")
    page.get_by_role("button", name="Cut from the film").click()
    expect(page.get_by_text("A010-2 is cut.")).to_be_visible()
    edit(page, "A030")
    page.get_by_role("button", name="Archive", exact=True).click()
    expect(page.get_by_text("A030 was archived.")).to_be_visible()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("A030 is back.")).to_be_visible()
    page.get_by_label("Status", exact=True).first.select_option("cut")
    page.wait_for_url("**status=cut**")
    expect_order(page, "A010-2")


def test_crew_bring_a_list_in_and_correct_it_on_the_way(crew_page, film, accessible):
    page = crew_page
    page.goto("/productions/FELT/shots/import/")
    accessible(page)
    page.get_by_label("Paste the list").fill(
        "Code;Length;Set-up;Description\nA010;3,5;S1;Fox wakes\nB010;soon;Attic;Λύκος\n"
    )
    page.get_by_role("button", name="Show what will happen").click()
    expect(page.get_by_text("“soon” is not a length")).to_be_visible()
    expect(page.get_by_text("Length: 2 s 00 f → 3 s 12 f")).to_be_visible()
    accessible(page)
    page.get_by_label("The list").fill(
        page.get_by_label("The list").input_value().replace("soon", "1")
    )
    page.get_by_role("button", name="Look again").click()
    page.get_by_role("button", name="Take the list in").click()
    expect(page.get_by_text("1 shot added, 1 changed, 0 left as they were.")).to_be_visible()
    assert film.shots.get(code="B010").setup.code == "Attic"


def test_a_storyboard_picture_stands_on_the_shots_own_page(page, film, accessible, tmp_path):
    drawing = tmp_path / "drawing.png"
    Image.new("RGB", (320, 180), "seagreen").save(drawing)
    page.goto(f"/productions/FELT/shots/{film.shots.first().pk}/")
    page.get_by_label("Storyboard picture").set_input_files(drawing)
    page.get_by_role("button", name="Keep this picture").click()
    picture = page.get_by_alt_text("Storyboard of A010")
    expect(picture).to_be_visible()
    expect(picture).to_have_js_property("naturalWidth", 320)  # once it has loaded
    accessible(page)
