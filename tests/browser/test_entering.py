"""From a nursery without anybody to the first tablet's code, and the pages on people and tablets, in a real browser."""

import hashlib
import io
from collections.abc import Iterator

import numpy as np
import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser, Page, expect
from typer.testing import CliRunner

from server.access.accounts import make_account
from server.access.links import make_link
from server.access.tablets import withdraw_tablet
from server.access.trail import COMMAND_LINE
from server.cli import app
from server.pages.addresses import to_small_photo
from server.store.photos import PhotoStore
from server.store.record import RecordStore
from server.store.tablets import enrol, list_tablets, new_code, note_contact
from shared_schema.entries import PhotoTaken
from tests.browser.barriers import no_barrier
from tests.browser.conftest import Desk, be_ready
from tests.browser.test_office import LENGTHEN, SIZES
from tests.server.conftest import Nursery
from tests.server.running import running
from tests.server.small_nursery import NOW, fill
from tests.server.test_small_photos import scene
from tests.server.visitor import link_for

pytestmark = pytest.mark.browser

PASSWORD = "four words are long"
PAGES = ("/tablets", "/people", "/people/ana", "/people/rita", "/trail", "/account")


@pytest.fixture
def stranger(chromium: Browser) -> Iterator[Page]:
    """A browser that was never here. At the end its console must have been silent."""
    context = chromium.new_context(viewport={"width": 1280, "height": 800})
    said: list[str] = []
    context.on("console", lambda message: said.append(f"{message.type}: {message.text}"))
    yield context.new_page()
    context.close()
    # A page that is refused, and a cache that is cleared, are told to the console by the browser itself.
    assert [line for line in said if "403" not in line and "Cleared data types" not in line] == []


def test_the_first_supervisor_comes_in_and_lets_a_tablet_in(lite: Nursery, stranger: Page) -> None:
    """By the printed link: set a password, sign in, make a code; the picture holds the address and the code, and enrols."""
    settings, store = lite
    with running(settings) as (url, _):
        clean_goto(stranger, f"{url}/")
        expect(stranger.locator("pre")).to_contain_text("crosstree office first")
        command = ["office", "first", "ines", "--name", "Inés Office", "--url", url, "--data", str(settings.data)]
        printed = CliRunner().invoke(app, [*command, "--database", settings.database_url]).stdout
        clean_goto(stranger, printed.split()[-1])
        stranger.get_by_label("New password").fill(PASSWORD)
        stranger.get_by_label("The same again").fill(PASSWORD)
        stranger.get_by_role("button", name="Set it").click()
        expect(stranger.get_by_role("status")).to_contain_text("Your password is set")
        expect(stranger.get_by_label("Person id or name")).to_have_value("ines")
        no_barrier(stranger)
        stranger.get_by_label("Password").fill(PASSWORD)
        stranger.get_by_role("button", name="Sign in").click()
        expect(stranger.get_by_role("heading", name="No survey yet")).to_be_visible()
        stranger.get_by_role("link", name="Tablets").click()
        expect(stranger.get_by_role("heading", name="No tablet yet")).to_be_visible()
        no_barrier(stranger)
        stranger.get_by_role("button", name="Make a code").click()
        code = stranger.locator(".letters").inner_text()
        assert read_picture(stranger) == f"{url}#{code}"
        no_barrier(stranger)
        enrol(store, code, "Deck")
        stranger.get_by_role("link", name="Done").click()
        expect(stranger.locator(".tablet h2")).to_contain_text("Deck")
        stranger.close()  # it would tell its console of a server that went away


def clean_goto(page: Page, address: str) -> None:
    """Open an address and look for barriers."""
    page.goto(address)
    no_barrier(page)


def read_picture(page: Page) -> str:
    """What a camera reads off the screen."""
    image = Image.open(io.BytesIO(page.screenshot())).convert("L")
    (found,) = zxingcpp.read_barcodes(np.array(image))
    return found.text


def test_whoever_is_closed_out_while_reading_is_asked_to_sign_in(desk: Desk, stranger: Page) -> None:
    """Inés ends Ana's session; Ana's next click asks her to sign in, and then leads to where she wanted to go."""
    make_account(desk.store, "ana", "Ana Crew", "crew", COMMAND_LINE)
    stranger.goto(f"{desk.url}/door/{make_link(desk.store, 'ana', 'sign_in', COMMAND_LINE)}")
    stranger.wait_for_url(f"{desk.url}/")
    page = desk.open("/people/ana")
    page.get_by_role("button", name="End it").click()
    expect(page.get_by_text("Nowhere.")).to_be_visible()
    stranger.get_by_role("link", name="Discrepancies").click()
    expect(stranger.get_by_role("heading", name="Sign in")).to_be_visible()
    expect(stranger.locator("input[name=onward]")).to_have_value("/discrepancies")


KEPT = """async (address) => {
    const asked = { cache: "only-if-cached", mode: "same-origin" };
    return fetch(address, asked).then((answer) => answer.ok, () => false);
}"""


def test_whoever_signs_out_leaves_no_photo_behind_in_the_browser(lite: Nursery, chromium: Browser) -> None:
    """A photo is kept for good while somebody is in; afterwards not even the browser's cache has it."""
    settings, store = lite
    content = scene()
    sha256 = hashlib.sha256(content).hexdigest()
    boats = fill(store)
    boats.ana.author.write(PhotoTaken, "fragment:T1-002", NOW, sha256=sha256, size=len(content))
    boats.ana.back()
    PhotoStore(store, settings.photos).add(sha256, 0, len(content), content)
    with running(settings) as (url, _):
        page = chromium.new_context().new_page()
        page.goto(url + link_for(store))
        page.wait_for_url(f"{url}/")
        page.goto(f"{url}/fragments/T1-002")
        be_ready(page)
        assert page.evaluate(KEPT, to_small_photo(sha256)) is True
        page.get_by_role("button", name="Sign out").click()
        expect(page.get_by_role("status")).to_contain_text("You are signed out.")
        assert page.evaluate(KEPT, to_small_photo(sha256)) is False
        page.context.close()


def test_a_withdrawal_asks_why_and_is_undone(desk: Desk) -> None:
    """The reason stands with the tablet until it is let in again."""
    page = desk.open("/tablets")
    card = page.locator(".tablet", has_text="Grey")
    card.locator("summary").click()
    card.get_by_label("Why").fill("slipped off the deck")
    card.get_by_role("button", name="Withdraw", exact=True).click()
    expect(card).to_contain_text("slipped off the deck")
    card.get_by_role("button", name="Let it in again").click()
    expect(card).not_to_contain_text("slipped off the deck")


@pytest.fixture
def peopled(desk: Desk) -> Desk:
    """Accounts of each sort and tablets in each state."""
    fill_up(desk.store)
    return desk


def fill_up(store: RecordStore) -> None:
    """Someone with a session, one closed, one reader; a slow clock, entries that wait, and a tablet withdrawn."""
    make_account(store, "ana", "Ana Crew", "crew", COMMAND_LINE)
    make_account(store, "rita", "Rita Reader", "reader", COMMAND_LINE)
    note_contact(store, list_tablets(store)[0].writer, -4_000, "crosstree 0.1.0", 27)
    withdraw_tablet(store, enrol(store, new_code(store)[0], "Lost one").writer, "lost overboard", COMMAND_LINE)


def test_no_page_about_people_has_a_barrier_that_a_program_can_find(peopled: Desk) -> None:
    """Checked by axe as the other pages are; a code and a fresh link too."""
    for path in PAGES:
        peopled.open(path)
        no_barrier(peopled.page)
    peopled.open("/people/ana").get_by_role("button", name="Make a new link").click()
    no_barrier(peopled.page)
    peopled.open("/tablets").get_by_role("button", name="Let a tablet in").click()
    no_barrier(peopled.page)


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_every_page_about_people_fits_the_width_of_the_screen(peopled: Desk, size: tuple[int, int]) -> None:
    """Nothing sticks out, the code's picture neither; and with words that are a third longer on a phone."""
    peopled.page.set_viewport_size({"width": size[0], "height": size[1]})
    for path in (*PAGES, "code"):
        page = peopled.open("/tablets" if path == "code" else path)
        if path == "code":
            page.get_by_role("button", name="Let a tablet in").click()
            expect(page.locator(".letters")).to_be_visible()
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0], path
        if size == SIZES["phone"]:
            page.evaluate(LENGTHEN)
            assert page.evaluate("document.documentElement.scrollWidth") <= size[0], path
