"""Single keys on the page of questions: a list of them, what each does, and nothing while somebody types."""

import pytest
from playwright.sync_api import expect

from tests.browser.barriers import no_barrier
from tests.browser.conftest import Desk, be_ready
from tests.server.small_nursery import NOW

pytestmark = pytest.mark.browser

QUESTIONS = f"/surveys/{NOW}/questions"
FIRST, SECOND, THIRD = (f"#q-fragment-{name}" for name in ("T1-001-status", "T1-006-status", "T1-010-live_tissue"))


def test_the_list_of_keys_opens_and_closes_by_keys_and_keeps_the_place(desk: Desk) -> None:
    """Other keys rest while it is open; afterwards the reader is where they were."""
    page = desk.open(QUESTIONS)
    expect(page.locator("[data-keys-words]")).to_contain_text("keep it open, with a reason")
    page.keyboard.press("n")
    expect(page.locator(f"{FIRST} h2")).to_be_focused()
    page.keyboard.press("?")
    listed = page.get_by_role("dialog", name="Keys on this page")
    expect(listed).to_be_visible()
    assert listed.locator("dt").all_inner_texts() == ["j k", "n", "1 … 8", "0", "9", "Enter", "u", "?", "Esc"]
    no_barrier(page)
    page.keyboard.press("1")
    page.keyboard.press("n")
    page.keyboard.press("Escape")
    expect(listed).to_be_hidden()
    expect(page.locator(f"{FIRST} h2")).to_be_focused()
    expect(page.locator("input[name=take]:checked")).to_have_count(0)


def test_a_question_is_kept_open_by_keys_and_stands_last(desk: Desk) -> None:
    """9, a reason, Enter: on to the next; the reason is shown, the list can leave it out, and u takes it back."""
    page = desk.open(QUESTIONS)
    page.keyboard.press("9")
    page.keyboard.type("j9 n? both slates are blurred")
    page.keyboard.press("Enter")
    expect(page.locator(f"{FIRST} .kept")).to_contain_text("both slates are blurred")
    expect(page.locator(f"{SECOND} h2")).to_be_focused()
    assert desk.store.finding(NOW, "fragment:T1-001").open == ("status",)
    desk.open(QUESTIONS)
    last = page.locator("[data-question]").last
    expect(last).to_have_id(FIRST.removeprefix("#"))
    page.get_by_role("link", name="To look at 2").click()
    expect(page.locator("[data-question]")).to_have_count(2)
    page.get_by_role("link", name="Kept open 1").click()
    page.wait_for_url("**?show=kept")
    be_ready(page)
    expect(page.locator("[data-question]")).to_have_count(1)
    page.keyboard.press("u")
    expect(page.locator(f"{FIRST} .state")).to_have_text("open")
    expect(page.locator(f"{FIRST} .kept")).to_have_count(0)


def test_a_new_value_is_given_by_keys_and_switched_off_keys_do_nothing(desk: Desk) -> None:
    """0 leads into the field, Enter sends from there; with single keys off neither n nor u nor ? does anything."""
    page = desk.open(QUESTIONS)
    page.keyboard.press("k")
    for _ in range(2):
        page.keyboard.press("j")
    expect(page.locator(f"{THIRD} h2")).to_be_focused()
    page.keyboard.press("0")
    page.keyboard.type("70")
    page.keyboard.press("Enter")
    expect(page.locator("#last")).to_contain_text("T1-010: 70")
    expect(page.locator(f"{FIRST} h2")).to_be_focused()  # after the last on the page the list begins anew
    page.get_by_role("button", name="Single keys: on").click()
    expect(page.locator("[data-keys-words]")).to_be_hidden()
    page.locator("h1").click()
    for key in ("n", "u", "?", "j"):
        page.keyboard.press(key)
    expect(page.locator("#last")).to_contain_text("T1-010: 70")
    expect(page.get_by_role("dialog")).to_be_hidden()
    assert page.evaluate("document.activeElement.closest('[data-question]')") is None
    assert desk.store.finding(NOW, "fragment:T1-010").slots["live_tissue"].value == 70


def test_a_page_without_questions_offers_no_keys(desk: Desk) -> None:
    """Nothing hangs in question on the table: no list of keys, no switch, and none of them does anything."""
    page = desk.open(f"/surveys/{NOW}/structures/B1/questions")
    expect(page.get_by_role("heading", name="No open question")).to_be_visible()
    expect(page.get_by_role("button", name="Keys")).to_have_count(0)
    expect(page.get_by_role("button", name="Single keys")).to_have_count(0)
    page.keyboard.press("?")
    expect(page.get_by_role("dialog")).to_have_count(0)
    expect(desk.open(QUESTIONS).get_by_role("button", name="Keys ?")).to_be_visible()
