"""What a supervisor does at the office, in a real browser."""

import pytest
from playwright.sync_api import expect

from tests.browser.barriers import no_barrier
from tests.browser.conftest import Desk
from tests.server.small_nursery import NOW

pytestmark = pytest.mark.browser

QUESTIONS = f"/surveys/{NOW}/questions"
CARD = "#q-fragment-T1-001-status"
PAGES = (
    "/",
    f"/surveys/{NOW}",
    f"/surveys/{NOW}/structures/T1",
    f"/surveys/{NOW}/structures/B1",
    QUESTIONS,
    f"{QUESTIONS}/fragment/T1-006/status",
    "/fragments/T1-003",
    "/discrepancies",
    "/discrepancies/tag_twice/standing/T1-001,T1-002",
    "/fragments/T1-003/correct",
    "/set-aside",
    "/plan",
    f"/surveys/{NOW}/plan",
    f"/surveys/{NOW}/coverage",
    f"/surveys/{NOW}/coverage?whole=true",
    f"/surveys/{NOW}/unlikely",
    f"/surveys/{NOW}/sign-off",
    "/door",
)
SIZES = {"laptop": (1280, 800), "tablet": (1024, 768), "phone": (390, 844)}

LENGTHEN = """() => {
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (walk.nextNode()) {
        const node = walk.currentNode;
        if (!node.parentElement.closest("script, select, svg")) {
            node.data = node.data.replace(/[a-zé]{4,}/gi, word => word + "mente".repeat(1 + word.length / 8));
        }
    }
}"""


def settled(desk: Desk, fragment: str = "T1-001") -> tuple[object, bool]:
    """What the record holds of a fragment's condition, and whether that is open."""
    slot = desk.store.finding(NOW, f"fragment:{fragment}").slots["status"]
    return slot.value, slot.open


def test_a_question_is_settled_by_keyboard_alone(desk: Desk) -> None:
    """Go to it, choose, give a reason, send: the card shows the ruling in place, and the reader is at the next open one."""
    page = desk.open(QUESTIONS)
    page.keyboard.press("j")
    expect(page.locator(f"{CARD} h2")).to_be_focused()
    lost = page.locator(f"{CARD} .statement", has_text="Ben Crew").locator("input[name=take]")
    page.keyboard.press(
        "1" if lost.get_attribute("value") == page.locator(f"{CARD} input[name=take]").first.get_attribute("value") else "2"
    )
    expect(lost).to_be_checked()
    while not page.locator(f"{CARD} input[name=reason]").evaluate("one => one === document.activeElement"):
        page.keyboard.press("Tab")
    page.keyboard.type("photo shows the bare tie")
    page.keyboard.press("Enter")
    expect(page.locator(f"{CARD} .state")).to_contain_text("settled")
    expect(page.locator("#q-fragment-T1-006-status h2")).to_be_focused()
    expect(page.locator("#left")).to_have_text("2 open")
    expect(page.locator("#last")).to_contain_text("T1-001: lost")
    assert page.url.endswith(QUESTIONS)
    assert settled(desk) == ("lost", False)


def test_a_ruling_is_taken_back_in_place(desk: Desk) -> None:
    """The question opens again where it was, and can be settled otherwise."""
    page = desk.open(f"{QUESTIONS}/fragment/T1-001/status")
    page.locator(f"{CARD} .statement", has_text="Ana Crew").locator("input[name=take]").check()
    page.get_by_role("button", name="Settle it").click()
    expect(page.locator(f"{CARD} .state")).to_contain_text("settled")
    page.get_by_role("button", name="Take this ruling back").click()
    expect(page.locator(f"{CARD} .state")).to_have_text("open")
    assert settled(desk) == ("lost", True)


def test_what_came_meanwhile_is_shown_and_not_covered(desk: Desk) -> None:
    """A tablet brings another word while the page is open: the answer says so."""
    page = desk.open(QUESTIONS)
    desk.boats.ben.saw("T1-001", "T1/1.1.1", "dead", replaces=())
    desk.boats.ben.back()
    page.locator(f"{CARD} .statement", has_text="Ana Crew").locator("input[name=take]").check()
    page.locator(f"{CARD} button", has_text="Settle it").click()
    expect(page.locator(f"{CARD} .outcome")).to_contain_text("Still open.")
    expect(page.locator(f"{CARD} fieldset .statement:not(.other)", has_text="dead in place")).to_have_count(1)
    assert settled(desk) == ("dead", True)


def test_choosing_a_new_value_chooses_to_give_one(desk: Desk) -> None:
    """Who opens the list of values need not find the button beside it as well."""
    page = desk.open(QUESTIONS)
    page.locator(f"{CARD} select[name=other]").select_option("fading")
    expect(page.locator(f"{CARD} input[value=other]")).to_be_checked()
    page.locator(f"{CARD} button", has_text="Settle it").click()
    expect(page.locator(f"{CARD} .state")).to_contain_text("fading")
    assert settled(desk) == ("fading", False)


def test_single_keys_can_be_switched_off_and_stay_off(desk: Desk) -> None:
    """Whoever speaks to the machine, or leans on the keyboard, chooses nothing by accident (WCAG 2.1.4)."""
    page = desk.open(QUESTIONS)
    page.get_by_role("button", name="Single keys: on").click()
    for _ in range(2):
        page.locator("h1").click()
        page.keyboard.press("j")
        page.keyboard.press("1")
        expect(page.locator("input[name=take]:checked")).to_have_count(0)
        desk.open(QUESTIONS)
    expect(page.get_by_role("button", name="Single keys: off")).to_be_visible()


def test_the_way_past_the_navigation_leaves_the_page_as_it_is(desk: Desk) -> None:
    """Whoever skips to the content is there at once; nothing is loaded again, and what was typed stays."""
    page = desk.open(f"/surveys/{NOW}/sign-off")
    page.get_by_label("Statement: what is open, and why that is acceptable").fill("half written")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url) if request.is_navigation_request() else None)
    page.locator(".skip").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#content")).to_be_focused()
    page.wait_for_timeout(300)
    assert asked == []
    expect(page.get_by_label("Statement: what is open, and why that is acceptable")).to_have_value("half written")


def test_typing_a_reason_is_not_taken_for_single_keys(desk: Desk) -> None:
    """A reason with digits in it is a reason."""
    page = desk.open(QUESTIONS)
    page.locator(f"{CARD} input[name=reason]").fill("")
    page.locator(f"{CARD} input[name=reason]").press_sequentially("12 jk 0")
    expect(page.locator(f"{CARD} input[name=reason]")).to_have_value("12 jk 0")
    expect(page.locator("input[name=take]:checked")).to_have_count(0)


def test_everything_works_without_scripts(desk: Desk) -> None:
    """A browser with scripts off settles the same question by the same form."""
    context = desk.page.context.browser
    assert context is not None
    plain = context.new_context(java_script_enabled=False)
    plain.add_cookies(desk.context.cookies())  # type: ignore[arg-type]  # what cookies() gives add_cookies() takes
    page = desk.open(QUESTIONS, plain.new_page())
    page.locator(f"{CARD} .statement", has_text="Ben Crew").locator("input[name=take]").check()
    page.locator(f"{CARD} button", has_text="Settle it").click()
    expect(page.locator(f"{CARD} .state")).to_contain_text("settled")
    assert page.url.endswith(f"{QUESTIONS}/fragment/T1-001/status")
    plain.close()
    assert settled(desk) == ("lost", False)


def test_no_page_has_a_barrier_that_a_program_can_find(desk: Desk) -> None:
    """Checked by axe, with contrast at 7:1 (WCAG AAA) among its rules."""
    for path in PAGES:
        no_barrier(desk.open(path))


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_every_page_fits_the_width_of_the_screen(desk: Desk, size: tuple[int, int]) -> None:
    """Nothing sticks out to the side at laptop, tablet and phone size."""
    desk.page.set_viewport_size({"width": size[0], "height": size[1]})
    for path in PAGES:
        assert desk.open(path).evaluate("document.documentElement.scrollWidth") <= size[0], path


def test_long_words_do_not_break_a_page(desk: Desk) -> None:
    """A third longer, as Spanish is, and without a blank: everything wraps, on a phone too."""
    desk.page.set_viewport_size({"width": 390, "height": 844})
    for path in PAGES:
        page = desk.open(path)
        page.evaluate(LENGTHEN)
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, path
