"""A survey in a real browser: its plan, and its coverage that follows while the page is open."""

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from server.registry.surveys import Asked, plan_survey
from server.store.record import RecordStore
from shared_schema.designs import design_fields
from shared_schema.entries import NoteMade, PageSignedOff, StructureHung
from tests.browser.barriers import no_barrier
from tests.browser.conftest import Desk
from tests.server.conftest import Nursery
from tests.server.odd_survey import bring_nonsense, make_unlikely, sign_off_too_soon
from tests.server.running import running
from tests.server.small_nursery import DESIGNS, NOW, Boat, positions
from tests.server.visitor import link_for

pytestmark = pytest.mark.browser

PAGE = f"/surveys/{NOW}"


def look_at_the_table(boat: Boat, row: str) -> None:
    """Somebody goes along a row of the table, and signs it."""
    for fragment, place in positions("B1"):
        if place.startswith(f"B1/{row}."):
            boat.saw(fragment, place, "alive")
    boat.author.write(PageSignedOff, f"page:B1/{row}", NOW, alive=9, marked=0, unseen=0)
    boat.back()


def test_coverage_follows_arrivals_and_leaves_the_reader_in_place(desk: Desk) -> None:
    """A tablet syncs while the page is open: the numbers change, the same link has the focus, and nothing moves."""
    page = desk.open(PAGE)
    page.set_viewport_size({"width": 1280, "height": 500})
    looked, table = page.locator(".reach section").first, page.locator("#reach-B1")
    expect(table).to_contain_text("All 4 pages without a word")
    expect(looked).to_contain_text("103 of 159 looked at")
    link = page.locator("#card-T1 a.whole")
    link.focus()
    link.evaluate("one => { one.kept = true; one.scrollIntoView({block: 'center'}) }")
    top = link.evaluate("one => Math.round(one.getBoundingClientRect().top)")
    look_at_the_table(desk.boats.ana, "1")
    expect(looked).to_contain_text("112 of 159 looked at")
    expect(table).to_contain_text("1 of 4 pages signed")
    expect(table.locator("b")).to_have_text(["B1", "Row 2", "Row 3", "Row 4"])
    line = page.locator("[data-live]")
    said = r"10 new entries arrived( \(Orange\))?\. Now 112 of 159 looked at, 6 of 11 pages signed\."
    expect(line).to_have_text(re.compile(said))
    expect(line).to_have_attribute("role", "status")
    expect(link).to_be_focused()
    assert link.evaluate("one => one.kept"), "it is the element that had the focus, not another like it"
    assert abs(link.evaluate("one => Math.round(one.getBoundingClientRect().top)") - top) <= 2
    look_at_the_table(desk.boats.ana, "2")
    expect(looked).to_contain_text("120 of 159 looked at")


def test_a_sign_off_waits_for_its_signer_and_keeps_the_words(desk: Desk) -> None:
    """What came in is offered and not slipped in; when the signer takes it, the statement that was begun is still there."""
    page = desk.open(f"{PAGE}/sign-off")
    page.locator("textarea").fill("Two pages are left for Friday")
    look_at_the_table(desk.boats.ana, "1")
    button = page.locator("[data-live] button")
    expect(button).to_be_visible()
    expect(page.locator(".left-open")).to_contain_text("56 not looked at")
    button.click()
    expect(page.locator(".left-open")).to_contain_text("47 not looked at")
    expect(page.locator("textarea")).to_have_value("Two pages are left for Friday")
    page.get_by_role("button", name="Sign the survey off").click()
    expect(page.locator("main")).to_contain_text("“Two pages are left for Friday”")


def test_a_page_that_follows_keeps_nobody_signed_in(desk: Desk) -> None:
    """It asks for itself by a header that says so: the session is as old as the last click."""
    page = desk.open(PAGE)
    with page.expect_request(re.compile(f"{PAGE}$")) as asked:
        look_at_the_table(desk.boats.ana, "1")
    assert asked.value.headers["crosstree-by-itself"] == "yes"


def test_many_structures_are_ticked_at_once(desk: Desk) -> None:
    """All, none, those due, and all of a place: at once, counted, and planned by Enter in any field."""
    page = desk.open("/plan")
    count = page.locator("[data-plan-count]")
    page.get_by_role("button", name="None", exact=True).click()
    expect(count).to_have_text("0 of 3 chosen")
    page.get_by_role("button", name="All made up").click()
    expect(count).to_have_text("3 of 3 chosen")
    page.get_by_role("button", name="None made up").click()
    page.locator("input[value=T1]").check()
    expect(count).to_have_text("1 of 3 chosen")
    page.get_by_label("Name").fill("December")
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_have_text("December")
    assert desk.store.standing("survey:" + page.url.rpartition("/")[2]).value("structures") == ["T1"]


def test_a_survey_full_of_trouble_has_no_barrier_and_fits(desk: Desk) -> None:
    """Unlikely entries, one set aside, one that came too late: each is named on the survey's page and leads somewhere."""
    make_unlikely(desk.boats)
    bring_nonsense(desk.store)
    sign_off_too_soon(desk.store, desk.boats)
    page = desk.open(PAGE)
    calls = page.locator(".calls")
    for said in ("4 unlikely entries", "1 entry came after the sign-off", "1 entry was set aside"):
        expect(calls).to_contain_text(said)
    for path in (PAGE, *[(link.get_attribute("href") or "").partition("#")[0] for link in calls.locator("a").all()]):
        for width in (1280, 1024, 390):
            page.set_viewport_size({"width": width, "height": 844})
            assert desk.open(path).evaluate("document.documentElement.scrollWidth") <= width, path
        no_barrier(page)


@pytest.fixture
def bare(chromium: Browser, lite: Nursery) -> Iterator[tuple[Page, str, RecordStore]]:
    """Inés in a nursery that holds nothing yet."""
    settings, store = lite
    with running(settings) as (url, _):
        context = chromium.new_context(viewport={"width": 390, "height": 844})
        page = context.new_page()
        page.goto(url + link_for(store))
        page.wait_for_url(f"{url}/")
        yield page, url, store
        context.close()


def test_where_nothing_is_yet_each_page_says_what_comes_next(bare: tuple[Page, str, RecordStore]) -> None:
    """No survey, no structure, nothing arrived: one thing to do each time, on a phone, without a barrier."""
    page, url, store = bare

    def shown(path: str, says: str) -> None:
        page.goto(url + path)
        expect(page.locator("main")).to_contain_text(says)
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, path
        no_barrier(page)

    shown("/", "Next: plan one")
    shown("/plan", "Next: load the nursery")
    with store.office("ines") as office:
        office.write(StructureHung, "structure:T1", design=design_fields(DESIGNS["T1"]))
    shown("/plan", "No survey went before this one, so all are due.")
    plan_survey(store, Asked("2026-12"), by="ines")
    shown("/surveys/2026-12", "Next: let the tablets load this survey before the boat leaves")
    shown("/surveys/2026-12/coverage", "All 5 pages without a word")
    shown("/surveys/2026-12/unlikely", "There is nothing to do here.")
    shown("/surveys/2026-12/sign-off", "5 not signed off, of 5 pages")
    shown("/set-aside?survey=2026-12", "Nothing is set aside")
    with store.office("ines") as office:
        office.write(NoteMade, "survey:2027-01", "2027-01", text="begun without a plan")
    shown("/surveys/2027-01", "Nobody planned this survey")
    shown("/surveys/2027-01/plan", "Next: plan it above")
