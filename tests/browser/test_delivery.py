"""From a promised file to the client's sign-off, in a real browser, at both sizes."""

import hashlib
from dataclasses import replace

import pytest
from playwright.sync_api import expect

from clients.services.specifications import add_specification, lay_out_specifications
from studio import long_work
from studio.models import LongWork
from tests import factories
from tests.films import Film, held, make


@pytest.fixture
def film(owner, settings, tmp_path):
    """A production of two seconds, and its export in a folder of this machine."""
    settings.DELIVERY_FOLDERS = [tmp_path]
    add_specification("Gallery screen", {"container": "mp4", "width": 256, "true_peak": -1.0})
    factories.ProductionFactory(code="FELT", title="The Felt Fox", contracted_frames=48)
    return make(replace(Film(), name="export.mp4", pictures=held(48, 2)), tmp_path)


def do_the_work() -> None:
    """What the process beside the server does."""
    long_work.carry_out.call(LongWork.objects.not_over().get().pk)


def a_file_is_promised(page, accessible):
    page.goto("/productions/FELT/deliverables/new/")
    page.get_by_label("Name").first.fill("HD web master")
    page.get_by_label("Specification").select_option(label="Gallery screen")
    page.get_by_label("File name").fill("{production}_{deliverable}_v{version}.mp4")
    accessible(page)
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("no file checked yet")).to_be_visible()
    expect(page.get_by_text("FELT_HD-web-master_v01.mp4")).to_be_visible()


def its_file_is_checked(page, accessible):
    page.get_by_role("link", name="The file of HD web master").click()
    page.get_by_label("Path of the film").fill("/etc/passwd")
    page.get_by_role("button", name="Check it", exact=True).click()
    expect(page.get_by_text("must lie in an allowed folder")).to_be_visible()
    accessible(page)
    page.get_by_label("Path of the film").fill("export.mp4")
    page.get_by_role("button", name="Check it", exact=True).click()
    expect(page.get_by_role("progressbar")).to_be_visible()
    accessible(page)
    do_the_work()
    expect(page.get_by_text("1 of 6 does not fit")).to_be_visible()
    expect(page.get_by_text("Export at a width of 256 px")).to_be_visible()
    accessible(page)


def what_does_not_fit_is_accepted_in_writing(page):
    page.get_by_text("It was accepted in writing").click()
    page.get_by_label("Accepted by").fill("Noor Haddad")
    page.get_by_label("Why, and where it is written").fill("Letter of 3 May")
    page.get_by_role("button", name="Note as accepted: Picture width").click()
    expect(page.get_by_text("6 of 6 fit or are accepted")).to_be_visible()


def it_is_delivered(page, accessible) -> str:
    page.goto("/productions/FELT/deliverables/")
    expect(page.get_by_text("ready to deliver")).to_be_visible()
    expect(page.get_by_text("measured").first).to_be_visible()
    accessible(page)
    page.get_by_role("link", name="What was delivered").click()
    page.get_by_role("link", name="Make a delivery").click()
    page.get_by_label("A word to the client").fill("The fox is ready.")
    page.get_by_label("Licence reminder").fill("Europe, online, two years")
    accessible(page)
    page.get_by_role("button", name="Make the delivery").click()
    expect(page.get_by_role("progressbar")).to_be_visible()
    do_the_work()
    page.get_by_role("link", name="See what came of it").click()
    expect(page.get_by_text("waiting for the client")).to_be_visible()
    page.get_by_role("button", name="Make a private address").click()
    accessible(page)
    return page.locator(".sample").inner_text()


def the_client_signs_it_off(page, address: str, film, accessible):
    context = page.context.browser.new_context(viewport=page.viewport_size)
    client = context.new_page()
    client.set_default_timeout(10_000)
    client.goto(address)
    expect(client.get_by_text("The fox is ready.")).to_be_visible()
    expect(client.get_by_text("Accepted in writing by Noor Haddad")).to_be_visible()
    accessible(client)
    with client.expect_download() as download:
        client.get_by_role("link", name="FELT_HD-web-master_v01.mp4").click()
    assert download.value.suggested_filename == "FELT_HD-web-master_v01.mp4"
    assert _sha256(download.value.path()) == _sha256(film)
    client.get_by_label("Your name").fill("Noor Haddad")
    client.get_by_role("button", name="Ask for a change").click()
    expect(client.get_by_text("Say what is to be changed.")).to_be_visible()
    accessible(client)
    client.get_by_role("button", name="Sign HD web master off").click()
    expect(client.get_by_text("Signed off by Noor Haddad")).to_be_visible()
    assert "#version-" in client.url  # the browser stays at that file, among many
    accessible(client)
    context.close()


def _sha256(path) -> str:
    with open(path, "rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def test_a_promised_file_is_checked_delivered_and_signed_off(page, film, accessible):
    a_file_is_promised(page, accessible)
    its_file_is_checked(page, accessible)
    what_does_not_fit_is_accepted_in_writing(page)
    address = it_is_delivered(page, accessible)
    the_client_signs_it_off(page, address, film, accessible)
    page.goto("/productions/FELT/deliveries/1/")
    expect(page.get_by_text("Signed off by Noor Haddad")).to_be_visible()
    page.get_by_role("link", name="All deliveries").click()
    expect(page.get_by_text("1 of 1")).to_be_visible()
    accessible(page)


def test_a_specification_is_copied_changed_and_archived(page, owner, accessible):
    lay_out_specifications(sender=None)
    page.goto("/deliveries/")
    page.get_by_role("link", name="Specifications").click()
    accessible(page)
    page.get_by_role("button", name="Copy HD web master 16:9").click()
    page.get_by_label("Name", exact=True).fill("Cinema before the film")
    page.get_by_label("Picture width").fill("0")
    accessible(page)
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("must be a whole number of pixels")).to_be_visible()
    page.get_by_label("Picture width").fill("1998")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("Saved.")).to_be_visible()
    page.get_by_role("button", name="Archive Cinema before the film").click()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("link", name="Cinema before the film", exact=True)).to_be_visible()
    page.get_by_role("link", name="Take in a SPEC.json").click()
    page.get_by_label("Or paste it").fill('{"widht": 1920}')
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_text("no item 'widht'")).to_be_visible()
    accessible(page)


SLOW_LINE = {"offline": False, "latency": 0, "downloadThroughput": -1, "uploadThroughput": 100_000}
"""bytes a second"""


def test_how_much_of_a_film_was_sent_is_seen(page):
    production = factories.ProductionFactory(code="SENT")
    file = factories.DeliverableFactory(production=production)
    page.context.new_cdp_session(page).send("Network.emulateNetworkConditions", SLOW_LINE)
    page.goto(f"/productions/SENT/deliverables/{file.pk}/file/")
    sent = {"name": "notes.mp4", "mimeType": "video/mp4", "buffer": b"no film " * 20_000}
    page.get_by_label("The film", exact=True).set_input_files(sent)
    page.get_by_role("button", name="Send and check it").click()
    expect(page.get_by_label("Sending the film")).to_be_visible()
    expect(page.get_by_text("of 0.2 MB")).to_be_visible()
    expect(page.get_by_role("button", name="Send and check it")).to_be_disabled()
    expect(page.get_by_role("heading", name="notes.mp4 is being checked")).to_be_visible()
