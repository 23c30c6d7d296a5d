"""A supervisor puts right what does not add up, in a real browser."""

import pytest
from playwright.sync_api import Page, expect

from shared_schema.entries import FragmentMoved, FragmentPlanted
from tests.browser.barriers import no_barrier
from tests.browser.conftest import Desk
from tests.browser.test_office import LENGTHEN, SIZES
from tests.server.small_nursery import NOW

pytestmark = pytest.mark.browser

SEEN = f"/discrepancies/one_in_two_places/{NOW}/T1-090"
TWO = "/discrepancies/two_in_one_place/standing/T1-002,T1-003"
PAGES = (
    "/discrepancies",
    f"{SEEN}?repair=moved_there-fragment%3DT1-090-place%3DL1%2F1.1",
    f"{SEEN}?repair=hangs_elsewhere-fragment%3DT1-090-place%3DT1%2F5.2.5",
    "/discrepancies/tag_twice/standing/T1-005,T1-006",
    "/fragments/T1-001",
    f"/fragments/T1-001/correct?survey={NOW}&fact=status&look=1&value=fading",
    f"/fragments/T1-001/correct?survey={NOW}&fact=signs",
    f"/fragments/T1-001/correct?survey={NOW}&fact=live_tissue&look=1&value=101",
)


@pytest.fixture
def crooked(desk: Desk) -> Desk:
    """T1-090 was seen where another hangs, T1-002 was hung where T1-003 is, and a genet is unknown."""
    ben = desk.boats.ben
    ben.saw("T1-090", "L1/1.1", "alive")
    ben.author.write(FragmentMoved, "fragment:T1-002", NOW, place="T1/1.1.3")
    ben.author.write(FragmentPlanted, "fragment:N1", NOW, place="B1/1.4", genet="G9")
    ben.back()
    return desk


def place_of(desk: Desk, name: str) -> object:
    """Where a fragment hangs."""
    return desk.store.standing(f"fragment:{name}").value("place")


def press_until(page: Page, key: str, selector: str) -> None:
    """Press a key until that has the focus."""
    for _ in range(60):
        if page.locator(selector).evaluate_all("several => several.includes(document.activeElement)"):
            return
        page.keyboard.press(key)
    raise AssertionError(f"{selector} never had the focus")


def test_a_discrepancy_is_put_right_by_keyboard_alone(crooked: Desk) -> None:
    """Choose by its number, look, say why, write: the card says that it adds up, and the reader is still there."""
    page = crooked.open("/discrepancies")
    page.keyboard.press("j")
    expect(page.locator(".cases a.whole").first).to_be_focused()
    page.keyboard.press("Enter")
    page.wait_for_url(f"**{SEEN}")
    number = page.locator(".choice", has_text="The two were swapped").locator("kbd").inner_text()
    page.keyboard.press(number)
    page.keyboard.press("Enter")
    expect(page.locator("#repair")).to_contain_text("Adds up again: T1-090 hangs at T1/5.2.5 and was seen at L1/1.1")
    expect(page.locator("input[name=reason]")).to_be_focused()
    page.keyboard.type("photo 12 shows both tags")
    assert place_of(crooked, "T1-090") == "T1/5.2.5"
    page.keyboard.press("Enter")
    expect(page.locator("#case .state")).to_have_text("this adds up")
    expect(page.locator("#case-title")).to_be_focused()
    assert page.url.endswith(SEEN)
    assert (place_of(crooked, "T1-090"), place_of(crooked, "L1-001")) == ("L1/1.1", "T1/5.2.5")
    press_until(page, "Tab", ".done button")
    page.keyboard.press("Enter")
    page.wait_for_url("**/corrections/*")
    assert (place_of(crooked, "T1-090"), place_of(crooked, "L1-001")) == ("T1/5.2.5", "L1/1.1")


def test_what_is_asked_appears_with_its_choice_and_k_leads_back(crooked: Desk) -> None:
    """A place is asked for where one has to be given; a typed one is not mixed up with one from the list."""
    crooked.open("/discrepancies")
    page = crooked.open(TWO)
    expect(page.locator(".asks").first).to_be_hidden()
    choice = page.locator(".choice", has_text="T1-002 hangs somewhere else")
    choice.locator("input[name=repair]").check()
    choice.locator("select").select_option("ground")
    choice.locator("input[type=text]").fill("T1/9.9.9")
    page.get_by_role("button", name="Show what it would write").click()
    # Refused: said so in place.
    expect(page.locator("#case .wrong")).to_contain_text("structure T1 has no position 9.9.9")
    page.locator(".choice input[type=text]:visible").fill("B1/1.11")
    page.locator(".choice select:visible").select_option("holding")
    page.get_by_role("button", name="Show what it would write").click()
    expect(page.locator("#repair-title")).to_contain_text("in hand, between places")
    page.locator("h1").click()
    page.keyboard.press("k")
    page.wait_for_url(f"**{SEEN}")


def test_single_keys_have_one_switch_for_all_pages(crooked: Desk) -> None:
    """Switched off among the questions they do nothing among the discrepancies, and on again there they are on everywhere."""
    page = crooked.open(f"/surveys/{NOW}/questions")
    page.get_by_role("button", name="Single keys: on").click()
    crooked.open("/discrepancies")
    page.locator("h1").click()
    page.keyboard.press("j")
    expect(page.locator(".cases a.whole:focus")).to_have_count(0)
    page.get_by_role("button", name="Single keys: off").click()
    page.locator("h1").click()
    page.keyboard.press("j")
    expect(page.locator(".cases a.whole").first).to_be_focused()
    crooked.open(f"/surveys/{NOW}/questions")
    expect(page.get_by_role("button", name="Single keys: on")).to_be_visible()


def test_it_works_without_scripts(crooked: Desk) -> None:
    """The same choice by the same forms, page by page."""
    browser = crooked.context.browser
    assert browser is not None
    plain = browser.new_context(java_script_enabled=False)
    plain.add_cookies(crooked.context.cookies())  # type: ignore[arg-type]  # what cookies() gives add_cookies() takes
    page = crooked.open(SEEN, plain.new_page())
    page.locator(".choice", has_text="was moved to L1/1.1").locator("input[name=repair]").check()
    page.get_by_role("button", name="Show what it would write").click()
    page.locator("input[name=reason]").fill("the crew said so")
    page.get_by_role("button", name="Write it").click()
    expect(page.locator("#case .state")).to_have_text("this adds up")
    plain.close()
    assert place_of(crooked, "T1-090") == "L1/1.1"


def test_these_pages_have_no_barrier_and_fit_every_screen(crooked: Desk) -> None:
    """Axe with contrast at 7:1, three sizes, and words a third longer."""
    for path in PAGES:
        page = crooked.open(path)
        no_barrier(page)
        for width, height in SIZES.values():
            page.set_viewport_size({"width": width, "height": height})
            assert page.evaluate("document.documentElement.scrollWidth") <= width, (path, width)
        page.evaluate(LENGTHEN)
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, path
        page.set_viewport_size({"width": 1280, "height": 800})
    # A page that says what cannot be is an answer with status 422, which a browser reports.
    crooked.said[:] = [one for one in crooked.said if "422" not in one]
