"""Every figure that counts corals or pages leads to exactly those that it counts, and these to the entries behind them."""

import re
from collections.abc import Iterator
from html.parser import HTMLParser
from typing import Final
from urllib.parse import parse_qs, urlsplit

import pytest

from server.store.record import RecordStore
from shared_schema.entries import ConditionSeen, FragmentOutplanted, FragmentPlanted
from tests.server.running import new_nursery, running
from tests.server.small_nursery import BEFORE, NOW, fill
from tests.server.visitor import Visitor, texts

PAGES: Final = (
    "/",
    "/genets",
    "/genets/G1",
    "/structures",
    "/structures/T1",
    "/structures/L1",
    "/structures/B1",
    *(f"/surveys/{NOW}{more}" for more in ("", "/coverage", "/coverage?whole=true", "/digest", "/map", "/positions", "/sign-off")),
    *(f"/surveys/{NOW}/map?by={by}" for by in ("genet", "age", "growth", "seen")),
    *(f"/surveys/{NOW}/structures/{structure}" for structure in ("T1", "B1", "L1?by=genet", "T1?by=seen")),
    f"/surveys/{BEFORE}/positions",
)
NO_COUNT: Final = {"Depth", "Minutes", "Live tissue", "Positions"}
"""Columns of numbers that count no corals."""
ROWS: Final = {
    "/surveys/*/structures/*": r'<tr id="p-',
    "/surveys/*/positions": r"<tr(?: class=\"in-question\")?>\s*<th scope=\"row\"",
    "/surveys/*/stock/*": r"<tr>\s*<th scope=\"row\"",
    "/genets": r"<tr>\s*<th scope=\"row\"",
    "/genets/*": r"<tr>\s*<th scope=\"row\"",
    "/structures/*": r"<tr>\s*<th scope=\"row\"",
    "/surveys/*/coverage": r'<li id="reach-[^"]*/',
}
"""Page of a list -> what each line of the list begins with, behind the anchor that the figure leads to."""


class Figures(HTMLParser):
    """The figures of a page: numbers in links that ask for some of a list, and numbers of cells and counts in no link."""

    def __init__(self) -> None:
        super().__init__()
        self.leading: list[tuple[int, str]] = []
        self.alone: list[tuple[str, str]] = []
        self._open: list[tuple[str, dict[str, str]]] = []
        self._link, self._text = "", ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """A link begins, or something that a figure may stand in."""
        fields = {name: value or "" for name, value in attrs}
        if tag not in ("input", "meta", "link", "br", "wbr", "use", "path", "rect", "line", "circle"):
            self._open.append((tag, fields))
        if tag == "a":
            self._link, self._text = fields["href"], ""

    def handle_endtag(self, tag: str) -> None:
        """The link ends: what it says may begin with a figure."""
        while self._open and self._open.pop()[0] != tag:
            pass
        if tag == "a":
            number = re.match(r"\W*(\d[\d,]*)", self._text.strip())
            if number and "?" in self._link:
                self.leading.append((int(number[1].replace(",", "")), self._link))
            self._link = ""

    def handle_data(self, data: str) -> None:
        """A number that is in no link."""
        self._text += data
        if self._link or not data.strip().isdigit() or int(data) == 0:
            return
        cells = [fields for tag, fields in self._open if tag == "td" and "number" in fields.get("class", "").split()]
        lists = [
            fields for tag, fields in self._open if tag == "ul" and fields.get("class", "").split()[:1] in (["counts"], ["legend"])
        ]
        if lists or (cells and cells[-1].get("data-of") not in NO_COUNT):
            self.alone.append((data.strip(), str((cells or lists)[-1])))


def figures(html: str) -> Figures:
    """The figures of a page; letters within drawings are none, but the counts of a family tree are."""
    found = Figures()
    found.feed(html.split("<main", 1)[1])
    return found


@pytest.fixture(scope="module")
def office(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Visitor]:
    """The small nursery, with a coral of no genet, one on the reef, and some that were seen without a word on where."""
    with new_nursery(tmp_path_factory.mktemp("figures")) as (settings, store):
        _fill(store)
        with running(settings) as (url, _):
            yield Visitor(url, store)


def _fill(store: RecordStore) -> None:
    boats = fill(store)
    with store.office("ines") as office:
        office.write(FragmentPlanted, "fragment:X-1", place="T1/5.4.5")
        office.write(FragmentPlanted, "fragment:X-2", place="T1/9.9.9", genet="G2", parent="T1-001")
        for number in range(6):
            office.write(FragmentPlanted, f"fragment:X-1{number}", place="ground", genet="G1", parent="T1-002")
        office.write(FragmentOutplanted, "fragment:L1-001", NOW, place="site:Far-reef")
    for fragment, place, status in (
        ("B1-001", None, "bleached"),
        ("B1-003", "B1/1.3", "bleached"),
        ("B1-002", None, "alive"),
        ("L1-001", None, "fading"),
        ("X-2", "T1/9.9.9", "fading"),
    ):
        boats.ana.author.write(ConditionSeen, f"fragment:{fragment}", NOW, seen_at=place, status=status)
    boats.ana.back()


def lines(office: Visitor, address: str) -> int:
    """How many lines a list has, on all its pages."""
    parts = urlsplit(address)
    rows = next(rows for path, rows in ROWS.items() if re.fullmatch(path.replace("*", "[^/]+"), parts.path))
    many, onward = 0, f"{parts.path}?{parts.query}"
    while onward:
        html = office.see(onward)
        behind = html.split(f'id="{parts.fragment}"', 1)[1] if parts.fragment else html.split("<main", 1)[1]
        if "reached=" in address:
            rows = r'class="reach-structure"'
        listed = behind if "/coverage" in parts.path else behind.split("</table>")[0]
        many += len(re.findall(rows, listed))
        more = re.search(r'rel="next" href="([^"]+)"', behind.split('class="pages"')[1]) if 'class="pages"' in behind else None
        onward = more[1].replace("&amp;", "&").partition("#")[0] if more else ""
    return many


@pytest.mark.parametrize("page", PAGES)
def test_every_figure_leads_to_just_as_many_as_it_says(office: Visitor, page: str) -> None:
    """No number that counts corals stands without a link; the list behind each has so many lines."""
    found = figures(office.see(page))
    assert found.alone == []
    wrong = {}
    for number, address in sorted(set(found.leading)):
        asked = parse_qs(urlsplit(address).query)
        if asked.keys() & {"status", "state", "unrecorded", "species", "genet", "of", "reached", "generation", "mother"}:
            many = lines(office, address)
            if many != number:
                wrong[address] = (number, many)
    assert wrong == {}
    assert found.leading or page == "/structures/L1"


def test_the_entries_are_one_link_away_from_what_a_figure_counts(office: Visitor) -> None:
    """Each line of such a list leads to what was said, or to the history of a coral of which the survey says nothing."""
    for address in ("status=alive", "status=unseen", "status=fading", "status=seen"):
        rows = re.findall(r"<tr.*?</tr>", office.see(f"/surveys/{NOW}/positions?{address}").split("<tbody>")[1], re.DOTALL)
        assert rows
        behind = "/fragments/" if address == "status=unseen" else f"/surveys/{NOW}/entries/"
        assert all(behind in row for row in rows), address
    page = office.see(f"/surveys/{NOW}/coverage?structure=T1")
    assert page.count("/entries/page/T1/") == 5


def test_what_was_marked_is_what_was_looked_at_and_is_not_alive(office: Visitor) -> None:
    """By the list of all, and by a structure's table."""
    for page in ("positions", "structures/T1"):
        address = f"/surveys/{NOW}/{page}?status="
        assert lines(office, address + "marked") == lines(office, address + "seen") - lines(office, address + "alive") > 0


def test_those_that_no_entry_places_stand_last_and_are_counted_apart(office: Visitor) -> None:
    """Where they hung by then is shown as their place; one on the reef is said to be on no structure."""
    read = texts(office.see(f"/surveys/{NOW}/positions?status=fading"))
    assert "1 of them on no structure of this survey" in read
    assert read.index("T1/9.9.9 X-2") < read.index("L1-001 fading")
    assert "B1/1.1 B1-001 bleached" in texts(office.see(f"/surveys/{NOW}/positions?status=bleached"))


@pytest.mark.parametrize("asked", ["structures/T1?status=glowing", "positions?status=glowing", "coverage?state=begun"])
def test_a_condition_that_there_is_none_of_is_refused(office: Visitor, asked: str) -> None:
    """A mistyped address gives a page that says so."""
    assert office.get(f"/surveys/{NOW}/{asked}").status_code == 400
