"""Pages on paper, a survey of many structures, and every page that a link leads to."""

import re
from collections.abc import Iterator
from decimal import Decimal

import pytest
from playwright.sync_api import Browser, Page, expect

from server.store.record import RecordStore
from shared_schema.designs import Line, Tree, design_fields
from shared_schema.entries import ConditionSeen, FragmentPlanted, GenetRegistered, StructureHung, SurveyPlanned
from tests.browser.conftest import Desk
from tests.browser.test_office import SIZES
from tests.server.running import new_nursery, running
from tests.server.small_nursery import NOW
from tests.server.visitor import link_for

pytestmark = pytest.mark.browser

MANY = "2027-01"
A4 = {"width": 688, "height": 1017}
"""What is left of a sheet of A4 within margins of 14 mm, in CSS pixels."""
SAID = ("Ben Crew", "Ana Crew", "on tablet Grey", "received", "white band near the tie", "2026-10")
TO_PRESS = "header nav, .find, .leave, [data-keys], #last, main button, main select, main input"
CUT = """() => {
    const shown = one => one.checkVisibility() && !one.closest("svg.symbols, .only-heard, .skip");
    const wide = Array.from(document.querySelectorAll("main *")).filter(one => shown(one) && !one.closest("svg svg"));
    return wide
        .filter(one => one.getBoundingClientRect().right > document.documentElement.clientWidth + 1
            || (getComputedStyle(one).overflowX !== "visible" && one.scrollWidth > one.clientWidth + 1))
        .map(one => one.outerHTML.slice(0, 160));
}"""


def test_on_paper_there_is_all_that_was_said_and_nothing_to_press(desk: Desk) -> None:
    """Digest and questions on A4: no navigation, no buttons, no fields, and nothing sticks out of the sheet or is cut off."""
    page = desk.page
    page.set_viewport_size({"width": A4["width"], "height": A4["height"]})
    page.emulate_media(media="print")
    for path in ("digest", "questions", "questions/fragment/T1-006/status"):
        desk.open(f"/surveys/{NOW}/{path}")
        assert (
            page.eval_on_selector_all(TO_PRESS, "several => several.filter(one => one.checkVisibility()).map(one => one.outerHTML)")
            == []
        )
        assert page.evaluate(CUT) == []
        for said in SAID if "questions" in path else ():
            expect(page.locator("main").get_by_text(said).first).to_be_visible()


@pytest.fixture(scope="module")
def many(tmp_path_factory: pytest.TempPathFactory, chromium: Browser) -> Iterator[tuple[str, Page, list[str]]]:
    """A survey of 200 structures, a coral seen on each; nobody changes anything there."""
    said: list[str] = []
    with new_nursery(tmp_path_factory.mktemp("many")) as (settings, record), running(settings) as (url, _):
        hang_many(record)
        context = chromium.new_context(viewport={"width": 1280, "height": 800})
        context.on("console", lambda message: said.append(message.text))
        page = context.new_page()
        page.goto(url + link_for(record))
        page.wait_for_url(f"{url}/")
        yield url, page, said
        context.close()


def hang_many(record: RecordStore) -> None:
    """Half of them trees, half of them lines, all of one genet whose name has no place to break."""
    designs = Tree(levels=2, arms=2), Line(unit="m", length=Decimal(2), spacing=Decimal("0.5"))
    with record.office("ines") as office:
        office.write(GenetRegistered, "genet:Blanquillasouth", name="Blanquillasouth", species="Acropora cervicornis")
        names = tuple(f"N{number:03}" for number in range(1, 201))
        for number, name in enumerate(names):
            design = designs[number % 2]
            place = f"{name}/{design.positions[0].path}"
            office.write(StructureHung, f"structure:{name}", design=design_fields(design), location=f"row {number // 20}")
            office.write(FragmentPlanted, f"fragment:F{number:03}", place=place, genet="Blanquillasouth")
            office.write(ConditionSeen, f"fragment:F{number:03}", MANY, status="alive", seen_at=place)
        office.write(SurveyPlanned, f"survey:{MANY}", name="All of it", opens="2027-01-01", closes="2027-01-31", structures=names)


def test_a_survey_of_200_structures_is_one_page_that_fits(many: tuple[str, Page, list[str]]) -> None:
    """Each structure is there, drawn, at every size, and the page does not stick out."""
    url, page, said = many
    page.goto(f"{url}/surveys/{MANY}")
    expect(page.locator("li.structure")).to_have_count(200)
    expect(page.locator("li.structure svg.portrait")).to_have_count(200)
    for width, height in SIZES.values():
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        box = page.locator("li.structure").last.bounding_box()
        assert box is not None
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= width
    assert said == []


def test_a_genets_name_is_never_broken_within_a_word(many: tuple[str, Page, list[str]]) -> None:
    """Not on a phone either: the table scrolls, the word stays whole."""
    url, page, _ = many
    page.goto(f"{url}/genets")
    for width, height in SIZES.values():
        page.set_viewport_size({"width": width, "height": height})
        assert page.locator("a.name", has_text="Blanquillasouth").evaluate("one => one.getClientRects().length") == 1


def test_every_page_that_a_link_leads_to_opens_in_silence(desk: Desk) -> None:
    """From the list of surveys on: one page of each sort answers, and no console says a word (the desk sees to that)."""
    ahead, seen, opened = ["/"], {shape("/")}, 0
    while ahead:
        path = ahead.pop()
        answer = desk.page.goto(desk.url + path, wait_until="domcontentloaded")
        assert answer is not None
        assert answer.status == 200, path
        opened += 1
        for link in desk.page.eval_on_selector_all("a[href^='/']", "several => several.map(one => one.getAttribute('href'))"):
            if shape(link) not in seen and not link.startswith("/static"):
                seen.add(shape(link))
                ahead.append(link)
    assert opened > 20


def shape(link: str) -> str:
    """A link without the names in it: pages of one sort have one shape."""
    path = re.sub(r"[?#].*", "", link)
    return "/".join("*" if re.search(r"\d|%", part) or index == 2 else part for index, part in enumerate(path.split("/")))
