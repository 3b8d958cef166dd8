"""A real browser: Debian's Chromium, at desktop and phone size, with an accessibility scan."""

import os
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from playwright.sync_api import Page, sync_playwright

# Playwright's synchronous interface runs a loop in this thread; our database calls here are plain.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
QUIET = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip
SIZES = {"desktop": (1440, 900), "phone": (390, 844)}
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


def pytest_collection_modifyitems(items):
    for item in items:
        if "tests/browser" in str(item.path):
            item.add_marker(pytest.mark.browser)
            item.add_marker(pytest.mark.django_db(transaction=True))


@pytest.fixture(scope="session")
def chromium():
    if not Path(CHROMIUM).exists():
        pytest.skip(f"Chromium is not at {CHROMIUM}: install it to run the browser tests.")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        yield browser
        browser.close()


@pytest.fixture(params=SIZES, ids=list(SIZES))
def page(request, chromium, live_server, owner_client) -> Page:
    """The owner's browser, signed in, at desktop and at phone size; page errors fail the test."""
    yield from open_page(chromium, live_server, owner_client, SIZES[request.param])


@pytest.fixture(params=SIZES, ids=list(SIZES))
def crew_page(request, chromium, live_server, crew_client) -> Page:
    """A crew member's browser, signed in, at both sizes."""
    yield from open_page(chromium, live_server, crew_client, SIZES[request.param])


@pytest.fixture
def visitor_page(chromium, live_server) -> Page:
    """The browser of somebody who is not signed in."""
    yield from open_page(chromium, live_server, Client(), SIZES["phone"])


def open_page(chromium, live_server, client: Client, size: tuple[int, int]):
    width, height = size
    context = chromium.new_context(
        viewport={"width": width, "height": height},
        base_url=live_server.url,
        has_touch=width < 600,
        locale="en-GB",
        timezone_id="Europe/Warsaw",
    )
    context.add_cookies(
        [
            {"name": name, "value": cookie.value, "url": live_server.url}
            for name, cookie in client.cookies.items()
        ]
    )
    page = context.new_page()
    page.set_default_timeout(10_000)
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda line: errors.append(line.text) if line.type == "error" else None)
    yield page
    context.close()
    # A 4xx answer to a bad form is reported by the browser; it is ours and wanted. So is a
    # connection a test cuts.
    wanted = ("status of 4", "ERR_INTERNET_DISCONNECTED")
    unwanted = [error for error in errors if not any(words in error for words in wanted)]
    assert not unwanted, unwanted


@pytest.fixture
def accessible():
    """A function that scans the open page against WCAG 2.2 AA, and for sideways scrolling."""

    def scan(page: Page) -> None:
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            scan_once(page)

    def scan_once(page: Page) -> None:
        results = Axe().run(page, options={"runOnly": {"type": "tag", "values": WCAG}})
        assert results.violations_count == 0, results.generate_report()
        overflow = page.evaluate(
            "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )
        assert overflow <= 0, f"The page is {overflow} px wider than the window."

    return scan
