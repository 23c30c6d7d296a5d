"""Two supervisors at once, in two browsers: each sees where the other is, nobody is overridden, and nothing is lost."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from server.review.claims import read_claims
from shared_schema.entries import NoteMade, RulingGiven
from tests.browser.barriers import no_barrier
from tests.browser.conftest import Desk
from tests.server.small_nursery import NOW
from tests.server.visitor import link_for

pytestmark = pytest.mark.browser

QUESTIONS = f"/surveys/{NOW}/questions"
CARD = "#q-fragment-T1-001-status"
NEXT = "#q-fragment-T1-006-status"
HEARD = 20_000
"""News come every two seconds; a busy machine may take longer, in milliseconds."""


@pytest.fixture
def marta(desk: Desk) -> Iterator[Page]:
    """Another supervisor at a desk of her own; her console must be silent too."""
    browser = desk.context.browser
    assert browser is not None
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    context.on("console", lambda message: desk.said.append(f"marta {message.type}: {message.text}"))
    context.on("weberror", lambda error: desk.said.append(f"marta error: {error.error}"))
    page = context.new_page()
    page.goto(desk.url + link_for(desk.store, "marta"))
    page.wait_for_url(f"{desk.url}/")
    yield page
    context.close()


def take(page: Page, who: str, reason: str = "") -> None:
    """Take what somebody said, in the first card."""
    page.locator(f"{CARD} .statement", has_text=who).locator("input[name=take]").check()
    page.locator(f"{CARD} input[name=reason]").fill(reason)
    page.locator(f"{CARD} button", has_text="Settle it").click()


def words(desk: Desk) -> list[tuple[str, object, str | None]]:
    """(who, value, reason) of every ruling on the first card's question, as the record has them."""
    entries = [one.entry for one in desk.store.entries_of(NOW, "fragment:T1-001")]
    return [(one.by, one.value, one.reason) for one in entries if isinstance(one, RulingGiven)]


def test_each_sees_at_which_question_the_other_is_until_they_leave(desk: Desk, marta: Page) -> None:
    """Live, in the list and on the question's own page; going on, answering and leaving each end it."""
    desk.open(QUESTIONS)
    desk.open(QUESTIONS, marta)
    marta.keyboard.press("j")
    expect(desk.page.locator(f"{CARD} .claim")).to_contain_text("marta is at this, since", timeout=HEARD)
    expect(marta.locator(f"{CARD} .claim")).to_be_empty()
    no_barrier(desk.page)
    marta.keyboard.press("n")
    expect(desk.page.locator(f"{NEXT} .claim")).to_contain_text("marta is at this, since", timeout=HEARD)
    expect(desk.page.locator(f"{CARD} .claim")).to_be_empty(timeout=HEARD)
    desk.open(f"{QUESTIONS}/fragment/T1-006/status")
    expect(desk.page.locator(f"{NEXT} .claim")).to_contain_text("marta is at this, since", timeout=HEARD)
    expect(marta.locator(f"{NEXT} .claim")).to_contain_text("Inés Office is at this, since", timeout=HEARD)
    marta.goto(f"{desk.url}/genets")
    expect(desk.page.locator(f"{NEXT} .claim")).to_be_empty(timeout=HEARD)
    desk.page.locator(f"{NEXT} .statement", has_text="Ana Crew").locator("input[name=take]").check()
    desk.page.get_by_role("button", name="Settle it").click()
    expect(desk.page.locator(f"{NEXT} .state")).to_contain_text("settled")
    assert read_claims(desk.store) == ()


def test_who_comes_second_sees_what_was_ruled_and_that_theirs_was_taken_down_too(desk: Desk, marta: Page) -> None:
    """Both answered the same page with another value: both words are in the record, and the question is open between them."""
    desk.open(QUESTIONS)
    desk.open(QUESTIONS, marta)
    take(desk.page, "Ben Crew", "the slate says so")
    expect(desk.page.locator(f"{CARD} .state")).to_contain_text("settled")
    expect(marta.locator(f"{CARD} .meanwhile")).to_contain_text("Inés Office gave an answer here", timeout=HEARD)
    take(marta, "Ana Crew", "the photo shows tissue")
    race = marta.locator(f"{CARD} .race")
    expect(race).to_contain_text("Inés Office ruled while you looked: lost")
    expect(race).to_contain_text("Yours was taken down as well. The two differ")
    no_barrier(marta)
    assert sorted(words(desk)) == [("ines", "lost", "the slate says so"), ("marta", "alive", "the photo shows tissue")]
    line = desk.page.locator(f"{CARD} .meanwhile")
    expect(line).to_contain_text("marta gave an answer here", timeout=HEARD)
    line.get_by_role("button", name="Show it").click()
    expect(desk.page.locator(f"{CARD} .outcome")).to_contain_text("Still open.")
    take(desk.page, "marta")
    expect(desk.page.locator(f"{CARD} .state")).to_contain_text("settled: alive")
    assert [slot.value for slot in (desk.store.finding(NOW, "fragment:T1-001").slots["status"],) if not slot.open] == ["alive"]


def test_who_comes_second_with_another_answer_than_a_value_settles_nothing_anew(desk: Desk, marta: Page) -> None:
    """What is settled is not kept open: the note is not taken down, its author is told, and the words are still in the form."""
    desk.open(QUESTIONS)
    desk.open(QUESTIONS, marta)
    take(desk.page, "Ben Crew")
    expect(desk.page.locator(f"{CARD} .state")).to_contain_text("settled")
    marta.locator(f"{CARD} input[value=open]").check()
    marta.locator(f"{CARD} input[name=reason]").fill("ask Ben first")
    marta.locator(f"{CARD} button", has_text="Keep it open").click()
    expect(marta.locator(f"{CARD} .race")).to_contain_text("Yours was not taken down")
    expect(marta.locator(f"{CARD} input[name=reason]")).to_have_value("ask Ben first")
    entries = [one.entry for one in desk.store.entries_of(NOW, "fragment:T1-001")]
    assert [one for one in entries if isinstance(one, NoteMade)] == []
    assert words(desk) == [("ines", "lost", None)]
