"""The office on a phone: nothing is moved sideways, what is pressed is big enough, and the top leaves room for the page."""

import pytest
from playwright.sync_api import expect

from server.access.accounts import choose_language
from shared_schema.entries import FragmentOutplanted, FragmentPlanted
from tests.browser.barriers import no_barrier
from tests.browser.conftest import Desk
from tests.server.office_pages import addresses, names_of
from tests.server.small_nursery import NOW

pytestmark = [pytest.mark.browser, pytest.mark.usefixtures("compiled_words")]

NARROW = {"width": 360, "height": 740}
"""As narrow as phones that are still sold are, in CSS pixels."""
PICTURES = ".tree-scroll, .panorama, .where.wide"
"""Drawings to scale, which do scroll: smaller they could not be read."""
THUMB = 44
"""Pixels, WCAG 2.5.5."""
PRESSED = "button, .button, select, summary, input:not([type=hidden], [type=radio], [type=checkbox], [type=range])"

OPENED = "document.querySelectorAll('details').forEach(one => { one.open = true; })"
SIDEWAYS = f"""() => Array.from(document.querySelectorAll("body, .scroll"))
    .filter(one => !one.matches("{PICTURES}") && one.checkVisibility() && one.scrollWidth > one.clientWidth + 1)
    .map(one => one.className + " " + one.innerText.slice(0, 80))"""
SMALL = f"""() => Array.from(document.querySelectorAll("{PRESSED}"))
    .filter(one => one.checkVisibility() && !one.closest("dialog") && one.getBoundingClientRect().height < {THUMB} - 0.5)
    .map(one => one.outerHTML.slice(0, 120))"""


def test_nothing_is_moved_sideways_and_all_is_big_enough_to_press(desk: Desk) -> None:
    """On every page in Portuguese, whose words are long: tables become lines, and buttons and fields fit a thumb."""
    with desk.store.office("ines") as office:
        office.write(FragmentOutplanted, "fragment:L1-001", NOW, place="site:Far-reef")
        office.write(FragmentPlanted, "fragment:T1-900", NOW, place="T1/3.3.3", genet="G1")
    names = names_of(desk.store, "ines")
    choose_language(desk.store, "ines", "pt-BR")
    desk.page.set_viewport_size({"width": NARROW["width"], "height": NARROW["height"]})
    wrong = {}
    for called, address in addresses(names).items():
        page = desk.open(address)
        page.evaluate(OPENED)
        wrong[called] = (page.evaluate(SIDEWAYS), page.evaluate(SMALL))
    assert {called: found for called, found in wrong.items() if any(found)} == {}


def test_the_menu_opens_by_keyboard_and_without_a_script(desk: Desk) -> None:
    """Closed, the top is a sixth of the screen at most; open, all that was in it is there, and axe finds no barrier."""
    browser = desk.page.context.browser
    assert browser is not None
    plain = browser.new_context(java_script_enabled=False, viewport={"width": NARROW["width"], "height": NARROW["height"]})
    plain.add_cookies(desk.context.cookies())  # type: ignore[arg-type]  # what cookies() gives add_cookies() takes
    page = desk.open("/", plain.new_page())
    top = page.locator("header.top").bounding_box()
    assert top is not None
    assert top["height"] <= NARROW["height"] / 6
    genets = page.get_by_role("link", name="Genets")
    expect(genets).to_be_hidden()
    page.get_by_text("Menu", exact=True).press("Enter")
    expect(page.get_by_role("button", name="Sign out")).to_be_visible()
    genets.click()
    expect(page).to_have_url(f"{desk.url}/genets")
    expect(genets).to_be_hidden()
    plain.close()
    desk.page.set_viewport_size({"width": NARROW["width"], "height": NARROW["height"]})
    desk.open("/").get_by_text("Menu", exact=True).click()
    no_barrier(desk.page)


def test_the_last_line_lies_at_the_foot_of_the_window(desk: Desk) -> None:
    """However little a page says; and at laptop width the whole menu is in sight, with nothing to open."""
    page = desk.open("/search")
    foot = page.locator("footer").bounding_box()
    assert foot is not None
    assert foot["y"] + foot["height"] >= 800 - 1
    expect(page.get_by_role("link", name="Genets")).to_be_visible()
    expect(page.get_by_text("Menu", exact=True)).to_be_hidden()
