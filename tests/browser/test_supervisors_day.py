"""A supervisor's whole day: from signing in to a late tablet, in a real browser, with real tablets that sync over HTTP."""

from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from mobile.tasks import tasks_of
from server.store.record import RecordStore
from tests.browser.boats import SURVEY, Tablet, enrolled, hang_tree
from tests.server.conftest import Nursery
from tests.server.entering import GOOD, with_password
from tests.server.running import running

pytestmark = pytest.mark.browser

QUESTIONS = f"/surveys/{SURVEY}/questions"
TODAY = date(2026, 11, 15)
TEN = [f"1.{arm}.{hole}" for arm in (1, 2) for hole in range(1, 6)]
"""What Ana and Ben both looked at, each without the other's tablet."""
BY_SIGN_OFF = ("2.1.1", "2.1.2", "2.1.3")
"""What Ana saw bleached, and Ben passed over when he signed the level."""


@dataclass
class Keyboard:
    """Hands that never leave the keyboard, and how often they pressed a key."""

    page: Page
    pressed: list[str] = field(default_factory=list)

    def press(self, *keys: str) -> None:
        """Press one key after the other."""
        for key in keys:
            self.pressed.append(key)
            self.page.keyboard.press(key)

    def type(self, text: str) -> None:
        """Type where the focus is."""
        self.pressed += text
        self.page.keyboard.type(text)

    def tab_to(self, wanted: Locator) -> None:
        """Go on by the tabulator until something has the focus; past the navigation where a page offers that first.

        It does not where its address leads into it: then the browser begins there.
        """
        expect(wanted).to_be_visible()
        if self.page.locator("body").evaluate("body => document.activeElement === body"):
            self.press("Tab")
            if self.page.locator(".skip").evaluate("skip => document.activeElement === skip"):
                self.press("Enter")
        for _ in range(200):
            if wanted.evaluate("one => one === document.activeElement"):
                return
            self.press("Tab")
        raise AssertionError(f"the tabulator does not lead to {wanted}")

    def open(self, wanted: Locator) -> None:
        """Go to a link or button and press it."""
        self.tab_to(wanted)
        self.press("Enter")


@dataclass
class Day:
    """The office at its desk, and three tablets at sea."""

    url: str
    record: RecordStore
    page: Page
    keys: Keyboard
    ana: Tablet
    ben: Tablet
    cleo: Tablet


@pytest.fixture
def day(lite: Nursery, chromium: Browser, tmp_path: Path) -> Iterator[Day]:
    """Three tablets took the survey along before anybody dived. At the end the browser's console must have been silent."""
    settings, record = lite
    hang_tree(record)
    with_password(record, "ines", name="Inés Office")
    said: list[str] = []
    with running(settings) as (url, _), ExitStack() as stack:
        boats = {name: stack.enter_context(enrolled(tmp_path, name, url, record)) for name in ("ana", "ben", "cleo")}
        context = chromium.new_context(viewport={"width": 1280, "height": 800})
        stack.callback(context.close)
        context.on("console", lambda message: said.append(f"{message.type}: {message.text}"))
        context.on("weberror", lambda error: said.append(f"error: {error.error}"))
        page = context.new_page()
        yield Day(url, record, page, Keyboard(page), **boats)
    # A page that is refused is told to the console by the browser itself: the door, before anybody signed in.
    assert [line for line in said if "403" not in line] == []


def dive(day: Day) -> None:
    """Ana and Ben look at the same corals without knowing of each other, and both are back; Cleo's boat is still out."""
    ana, ben, cleo = day.ana.crew("ana"), day.ben.crew("ben"), day.cleo.crew("cleo")
    ana.log_dive(("ana",))
    ben.log_dive(("ben",))
    for path in TEN:
        ana.mark(f"T01/{path}", status="fading")
        ben.mark(f"T01/{path}", status="lost")
    ben.sign_off("T01/1")
    ben.sign_off("T01/2")
    ana.mark_many([f"T01/{path}" for path in BY_SIGN_OFF], status="bleached")
    ana.photo("T01/1", b"\xff\xd8\xff\xe0" + bytes(64), slate=True)
    cleo.mark("T01/1.1.1", status="dead")
    day.ana.bring()
    day.ben.bring()


def sign_in(day: Day) -> None:
    """By name and password."""
    day.page.goto(day.url)
    day.keys.tab_to(day.page.get_by_label("Person id or name"))
    day.keys.type("ines")
    day.keys.press("Tab")
    day.keys.type(GOOD)
    day.keys.press("Enter")
    expect(day.page.get_by_role("heading", name="Surveys")).to_be_visible()


def rule_on_ten(day: Day) -> int:
    """Take what Ben said of each of the ten; gives how many keys that took."""
    page, before = day.page, len(day.keys.pressed)
    for index in range(len(TEN)):
        card = page.locator(f"#q-fragment-T01-{index + 1:03}-status")
        number = card.locator(".take", has_text="lost").locator("kbd").inner_text()
        day.keys.press(number, "Enter")
        if index + 1 < len(TEN):
            expect(card.locator(".state")).to_contain_text("settled")
            expect(page.locator(f"#q-fragment-T01-{index + 2:03}-status h2")).to_be_focused()
    expect(page.locator("[data-question]")).to_have_count(3)
    return len(day.keys.pressed) - before


def bulk_and_back(day: Day) -> None:
    """One rule says what it would settle, settles it, takes all of it back at once, and settles it again."""
    page, keys = day.page, day.keys
    for again in (False, True):
        keys.open(page.get_by_role("link", name="Settle several by one rule"))
        keys.tab_to(page.locator("input[name=rule]").first)
        keys.press("Space")
        keys.open(page.get_by_role("button", name="Show what it would do"))
        expect(page.get_by_role("heading", name="It would settle 3 questions")).to_be_visible()
        assert page.locator("table tbody tr td:first-child").all_inner_texts() == [f"T01/{path}" for path in BY_SIGN_OFF]
        keys.open(page.get_by_role("button", name="Settle 3 questions"))
        expect(page.locator(".hint")).to_contain_text("What somebody tapped counts")
        if not again:
            keys.open(page.get_by_role("button", name="Take all 3 rulings back"))
            expect(page.get_by_role("status").filter(has_text="All of it was taken back")).to_be_visible()
        keys.open(page.get_by_role("link", name="Open questions"))
        expect(page.locator("#left")).to_have_text("0 open" if again else "3 open")


def sign_off(day: Day) -> None:
    """What is open is said, and the survey is closed."""
    day.keys.open(day.page.get_by_role("link", name="Back to the survey"))
    day.keys.open(day.page.get_by_role("link", name="Sign off"))
    day.keys.tab_to(day.page.get_by_label("Statement: what is open, and why that is acceptable"))
    day.keys.type("Levels 3 to 5 are left for the next dive.")
    day.keys.open(day.page.get_by_role("button", name="Sign the survey off"))
    expect(day.page.get_by_text("Signed off by Inés Office")).to_be_visible()
    expect(day.page.get_by_text("Nothing has arrived since.")).to_be_visible()


def test_a_supervisors_day_by_keyboard_from_the_door_to_a_late_tablet(day: Day) -> None:
    """Sign in, see what was covered, rule ten times, one rule and its undo, sign off; then tablets hear, and a late one speaks."""
    dive(day)
    sign_in(day)
    page, keys = day.page, day.keys
    keys.open(page.get_by_role("link", name=f"Survey of {SURVEY}"))
    expect(page.get_by_label("In sum")).to_contain_text("2 of 5 signed off")
    keys.open(page.get_by_role("link", name="13 open questions").first)
    expect(page.locator("[data-question]")).to_have_count(10)
    expect(page.locator("[data-keys]")).to_be_visible()
    expect(page.locator("#q-fragment-T01-001-status .proofs li")).to_have_count(1)

    keys.press("1", "Enter")
    expect(page.locator("#q-fragment-T01-002-status h2")).to_be_focused()
    keys.press("u")  # a slip, and one key takes it back
    expect(page.locator("#q-fragment-T01-001-status .state")).to_have_text("open")
    expect(page.locator("#q-fragment-T01-001-status h2")).to_be_focused()
    assert rule_on_ten(day) == 20
    bulk_and_back(day)
    sign_off(day)

    day.ana.bring()
    assert (day.ana.status("T01-001").value, day.ana.status("T01-001").ruled) == ("lost", True)
    assert (day.ana.status("T01-022").value, day.ana.status("T01-022").ruled) == ("bleached", True)
    assert tasks_of(day.ana.store, "T01", SURVEY, TODAY).count("question") == 0

    day.cleo.bring()
    expect(page.locator("[data-live]")).to_contain_text("1 new entry arrived")
    keys.open(page.get_by_role("button", name="Show them"))
    expect(page.get_by_role("status").filter(has_text="1 entry came after the sign-off")).to_be_visible()
    expect(page.locator("#late ~ .scroll tbody tr")).to_contain_text("Cleo Crew")
    page.goto(day.url + QUESTIONS)
    expect(page.locator("#q-fragment-T01-001-status .outcome")).to_contain_text("Still open.")
    assert day.record.finding(SURVEY, "fragment:T01-001").open == ("status",)
    day.ana.bring()
    assert tasks_of(day.ana.store, "T01", SURVEY, TODAY).count("question") == 1
