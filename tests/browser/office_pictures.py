"""The pictures of docs/in-the-office.md, each page as in use and empty.

    python -m tests.browser.office_pictures [FOLDER [DEMO [NAME ...]]]

A folder for each size and language, all beneath docs/pictures/office unless another folder is named. The pages are those of
tests/server/office_pages.py, which a test compares with the routes. DEMO is a folder with the data of `crosstree demo`; it is
copied. Unless given, the demo is built anew, which takes a minute. With names, only those pictures are taken.
"""

import json
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping, Set
from contextlib import contextmanager
from datetime import UTC, datetime
from functools import partial
from io import BytesIO
from pathlib import Path
from typing import Final

from PIL import Image, ImageDraw
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from server.access.accounts import choose_language, make_account
from server.access.trail import COMMAND_LINE
from server.demo.cast import PEOPLE, SUPERVISOR
from server.demo.show import show
from server.pages.conditions import LOOKS
from server.settings import Settings
from server.store.opening import create_nursery, open_nursery
from server.store.record import RecordStore
from server.store.tablets import enrol, new_code
from shared_schema.designs import Tree, design_fields
from shared_schema.entries import FragmentPlanted, GenetRegistered, PersonListed, StructureHung, SurveyPlanned
from tests.browser.conftest import CHROMIUM, QUIET
from tests.server.office_pages import NEVER_EMPTY, PAGES, Shown, names_of
from tests.server.running import running
from tests.server.visitor import link_for
from tests.words import catalogues

__all__ = ["HERE", "LANGUAGES", "SIZES", "main", "pictures"]

HERE: Final = Path(__file__).parents[2] / "docs" / "pictures" / "office"
SIZES: Final = {"1280x800": (1280, 800), "390x844": (390, 844), "1024x768": (1024, 768)}
ONLY_MAIN: Final = {"1024x768": frozenset({"surveys", "structure", "questions"})}
LANGUAGES: Final = ("en", "es")
COLOURS: Final = 40
TALLEST: Final = {"1280x800": 1600, "390x844": 2000, "1024x768": 1536}
"""Longer pages are cut off here: the rest repeats what is above."""


def _settings(folder: Path) -> Settings:
    return Settings.of(folder, f"sqlite:///{folder / 'crosstree.sqlite'}")


def _full(folder: Path, demo: Path | None) -> Mapping[str, str]:
    """The demo, and what an office does with it: names for addresses."""
    if demo is None:
        with show(_settings(folder), 0, 1, lambda *_: None):
            pass
    else:
        shutil.copytree(demo, folder, dirs_exist_ok=True)
    store = open_nursery(_settings(folder))
    for person, role in (("teo", "crew"), ("noor", "reader")):
        make_account(store, person, PEOPLE[person].name, role, COMMAND_LINE)
    writer = enrol(store, new_code(store)[0], "Osprey (demo)").writer
    said = {
        "id": f"{writer}-1",
        "kind": "fragment_weighed",
        "v": 1,
        "survey": "2026-11",
        "subject": "fragment:CA-0006",
        "by": "teo",
    }
    moment = "2026-11-14T09:40:00-04:00"
    line = json.dumps(said | {"observed": moment, "entered": moment, "buoyant_g": 41}).encode()
    store.receive([line], writer, int(datetime(2026, 11, 14, 17, 5, tzinfo=UTC).timestamp() * 1000))
    names = names_of(store, SUPERVISOR)
    store.engine.dispose()
    return names


def _empty(folder: Path) -> Mapping[str, str]:
    """A nursery of which somebody only said what there is to be."""
    store = create_nursery(_settings(folder), "Tessavo Lagoon (demo: all invented)", demo=True)
    with store.office(SUPERVISOR) as office:
        office.write(PersonListed, f"person:{SUPERVISOR}", name=PEOPLE[SUPERVISOR].name, role="supervisor")
        office.write(PersonListed, "person:teo", name=PEOPLE["teo"].name, role="crew")
        office.write(StructureHung, "structure:T01", design=design_fields(Tree()), location="inner reef")
        office.write(GenetRegistered, "genet:Calune", name="Calune", species="Acropora cervicornis")
        office.write(FragmentPlanted, "fragment:CA-0001", place="ground")
        office.write(SurveyPlanned, "survey:2026-12", name="December", opens="2026-12-05", closes="2026-12-06")
    link_for(store, SUPERVISOR)
    store.engine.dispose()
    return {
        "survey": "2026-12",
        "structure": "T01",
        "fragment": "CA-0001",
        "position": "T01/3.2.4",
        "genet": "Calune",
        "person": "teo",
        "account": SUPERVISOR,
    }


def _bare(folder: Path) -> Mapping[str, str]:
    """A nursery of which nobody said anything."""
    store = create_nursery(_settings(folder), "Tessavo Lagoon (demo: all invented)", demo=True)
    make_account(store, SUPERVISOR, PEOPLE[SUPERVISOR].name, "supervisor", COMMAND_LINE)
    store.engine.dispose()
    return {}


def _shown(of: str) -> Iterator[Shown]:
    """What to take of a nursery: everything of the full one, lists of the bare one, what has a name of the empty one."""
    for route, several in PAGES.items():
        for one in several[: None if of == "full" else 1]:
            if of == "full" or (route not in NEVER_EMPTY and ("{" in one.address) == (of == "empty")):
                yield one


def pictures(size: str) -> set[str]:
    """The names of all pictures of a size."""
    only = ONLY_MAIN.get(size)
    every = {f"{one.called}{_suffix(of)}": one.called for of in ("full", "empty", "bare") for one in _shown(of)}
    return {name for name, called in every.items() if only is None or called in only}


def _suffix(of: str) -> str:
    return "" if of == "full" else "-empty"


@contextmanager
def _desk(browser: Browser, url: str, store: RecordStore, language: str, size: tuple[int, int]) -> Iterator[Callable[[str], Page]]:
    """A browser of somebody who reads a language; gives what opens an address."""
    choose_language(store, SUPERVISOR, language)
    context = browser.new_context(viewport={"width": size[0], "height": size[1]}, locale=language, reduced_motion="reduce")
    outside = browser.new_context(viewport={"width": size[0], "height": size[1]}, locale=language, reduced_motion="reduce")
    inside = context.new_page()
    inside.goto(url + link_for(store, SUPERVISOR))
    inside.wait_for_url(f"{url}/")

    def opened(address: str) -> Page:
        page = _page(outside if address.startswith("/door") else context)
        answer = page.goto(url + address)
        if answer is None or not answer.ok:
            raise AssertionError(f"{address} cannot be shown ({answer and answer.status}): {page.inner_text('body')[:200]}")
        page.wait_for_load_state("load")
        page.wait_for_timeout(60)
        return page

    yield opened
    context.close()
    outside.close()


def _page(context: BrowserContext) -> Page:
    return context.pages[0] if context.pages else context.new_page()


def _take(page: Page, path: Path, size: str) -> None:
    """A picture in few colours, as high as the page is, up to a limit."""
    width = SIZES[size][0]
    wide = page.evaluate("document.documentElement.scrollWidth")
    if wide > width:
        sys.stdout.write(f"{path}: {wide} px wide\n")
    height = min(page.evaluate("document.documentElement.scrollHeight"), TALLEST[size])
    page.set_viewport_size({"width": width, "height": max(height, SIZES[size][1])})
    shot = _few_colours(Image.open(BytesIO(page.screenshot())))
    page.set_viewport_size({"width": width, "height": SIZES[size][1]})
    path.parent.mkdir(parents=True, exist_ok=True)
    shot.save(path, optimize=True)


def _few_colours(shot: Image.Image) -> Image.Image:
    """In few colours, those of the conditions among them: of some there is so little on a page that they would be lost."""
    swatch = 120
    wide = Image.new("RGB", (shot.width, shot.height + swatch), "white")
    wide.paste(shot.convert("RGB"))
    draw = ImageDraw.Draw(wide)
    step = shot.width / len(LOOKS)
    for number, look in enumerate(LOOKS):
        draw.rectangle((number * step, shot.height, (number + 1) * step, wide.height), look.fill)
    return wide.quantize(COLOURS, dither=Image.Dither.NONE).crop((0, 0, *shot.size))


def _picture_all(  # a nursery and what to take of it
    browser: Browser, folder: Path, data: Path, names: Mapping[str, str], of: str, wanted: Set[str]
) -> None:
    with running(_settings(data)) as (url, app):
        for language in LANGUAGES:
            for size, pixels in SIZES.items():
                with _desk(browser, url, app.state.store, language, pixels) as opened:
                    for one in _shown(of):
                        name = f"{one.called}{_suffix(of)}"
                        if name in pictures(size) & (wanted or {name}):
                            _take(opened(one.address.format(**names)), folder / f"{size}-{language}" / f"{name}.png", size)


def main(folder: Path, demo: Path | None, wanted: Set[str] = frozenset()) -> None:
    """Take all pictures, or those that are wanted."""
    catalogues().compile_all()
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        for of, make in (("bare", _bare), ("empty", _empty), ("full", partial(_full, demo=demo))):
            data = Path(place) / of
            data.mkdir()
            _picture_all(browser, folder, data, make(data), of, wanted)
        browser.close()


if __name__ == "__main__":
    folders = [Path(one) if one else None for one in sys.argv[1:3]] + [None, None]
    main(folders[0] or HERE, folders[1], frozenset(sys.argv[3:]))
