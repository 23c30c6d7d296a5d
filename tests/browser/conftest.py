"""A browser at the office: Debian's Chromium, on the small nursery."""

from collections.abc import Iterator
from dataclasses import dataclass, field

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from server.store.record import RecordStore
from tests.server.conftest import Nursery, lite
from tests.server.running import running
from tests.server.small_nursery import SmallNursery, fill
from tests.server.visitor import Visitor
from tests.words import compiled_words

__all__ = ["Desk", "be_ready", "chromium", "compiled_words", "desk", "lite"]

CHROMIUM = "/usr/bin/chromium"
PATIENCE_MS = 30_000
"""What is expected comes when it comes: other tests share the machine."""
QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


READY = """() => document.readyState === "complete" && (
    matchMedia("(scripting: none)").matches
    || (window.htmx && document.fonts.status === "loaded"
        && !document.querySelector(".htmx-request, .htmx-swapping, .htmx-settling")
        && Array.from(document.images).every(one =>
            one.complete || !one.checkVisibility() || one.getBoundingClientRect().top >= innerHeight))
)"""


@dataclass
class Desk:
    """A page in a browser with a key, and all that its console said."""

    url: str
    store: RecordStore
    boats: SmallNursery
    context: BrowserContext
    page: Page
    said: list[str] = field(default_factory=list)

    def open(self, path: str, page: Page | None = None) -> Page:
        """Open an address and wait until the page has all that it is made of."""
        shown = page or self.page
        shown.goto(self.url + path)
        be_ready(shown)
        return shown


def be_ready(page: Page) -> None:
    """Wait until a page is complete, in its own letters, with the photos in sight, and its scripts wait for keys.

    Scripts are deferred or modules: the browser runs them before it calls a page complete. What they ask the server for later, the
    news at /live, is not waited for. A page without scripts is ready when it is complete.
    """
    page.wait_for_load_state("load")
    page.wait_for_function(READY)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """One browser for all tests; each has a context of its own."""
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        yield browser
        browser.close()


@pytest.fixture
def desk(chromium: Browser, nursery_open: tuple[str, RecordStore, SmallNursery]) -> Iterator[Desk]:
    """Inés at her desk, with the cookie that her link gave. At the end the console must have been silent.

    Links are opened in the browser by tests/browser/test_entering.py.
    """
    url, store, boats = nursery_open
    context = chromium.new_context(viewport={"width": 1280, "height": 800})
    for name, value in Visitor(url, store).cookies.items():
        context.add_cookies([{"name": name, "value": value, "url": url, "httpOnly": True, "sameSite": "Strict"}])
    page = context.new_page()
    made = Desk(url, store, boats, context, page)
    context.on("console", lambda message: made.said.append(f"{message.type}: {message.text}"))
    context.on("weberror", lambda error: made.said.append(f"error: {error.error}"))
    yield made
    context.close()
    assert made.said == []


@pytest.fixture
def nursery_open(lite: Nursery) -> Iterator[tuple[str, RecordStore, SmallNursery]]:
    """The small nursery's server, its record and its boats."""
    settings, store = lite
    boats = fill(store)
    with running(settings) as (url, _):
        yield url, store, boats
