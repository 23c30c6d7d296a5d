"""Pages of a nursery of which little is known yet: each says what to do next."""

import re
from collections.abc import Iterator

import pytest

from shared_schema.designs import Tree, design_fields
from shared_schema.entries import FragmentPlanted, GenetRegistered, PersonListed, StructureHung, SurveyPlanned
from tests.server.conftest import Nursery
from tests.server.office_pages import NEVER_EMPTY, PAGES
from tests.server.running import running
from tests.server.visitor import Visitor

NAMES = {
    "survey": "2026-12",
    "structure": "T01",
    "fragment": "CA-1",
    "position": "T01/3.2.4",
    "genet": "G1",
    "person": "teo",
}
NOTHING = re.compile(r'<div class="nothing">(.*?)</div>', re.DOTALL)
ONWARD = re.compile(r"Next:|<a |<button|nothing to do here|can be searched")


@pytest.fixture
def visitor(lite: Nursery) -> Iterator[Visitor]:
    """A supervisor of a nursery of which somebody only said what there is to be."""
    settings, store = lite
    with store.office("ines") as office:
        office.write(PersonListed, "person:ines", name="Inés", role="supervisor")
        office.write(PersonListed, "person:teo", name="Teo", role="crew")
        office.write(StructureHung, "structure:T01", design=design_fields(Tree()), location="inner reef")
        office.write(GenetRegistered, "genet:G1", name="G1", species="Acropora cervicornis")
        office.write(FragmentPlanted, "fragment:CA-1", place="ground")
        office.write(SurveyPlanned, "survey:2026-12", name="December", opens="2026-12-05", closes="2026-12-06")
    with running(settings) as (url, _):
        yield Visitor(url, store)


def test_every_empty_page_says_what_comes_next(visitor: Visitor) -> None:
    """By a word, a link or a button; and no page shows a command between the marks that catalogues have."""
    empty = set()
    for route, several in PAGES.items():
        if route in NEVER_EMPTY:
            continue
        for one in several:
            page = visitor.see(one.address.format(**NAMES))
            assert "`" not in re.sub(r"<script.*?</script>", "", page, flags=re.DOTALL), one.called
            for said in NOTHING.findall(page):
                empty.add(one.called)
                assert ONWARD.search(said), (one.called, said)
    assert {"crew", "position", "positions", "questions", "rules", "structure", "structure-history"} <= empty
