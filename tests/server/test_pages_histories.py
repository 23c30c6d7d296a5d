"""The histories of a fragment, a position, a genet, a structure, somebody and a site, as people read them."""

import hashlib
import re
from collections.abc import Iterator
from dataclasses import dataclass

import pytest

from server.settings import Settings
from server.store.photos import PhotoStore
from server.store.record import RecordStore
from shared_schema.entries import (
    DiveLogged,
    FragmentMoved,
    FragmentOutplanted,
    FragmentPlanted,
    GenetRegistered,
    NoteMade,
    PhotoTaken,
    SizeMeasured,
    UpkeepDone,
)
from tests.server.conftest import Nursery
from tests.server.running import new_nursery, running
from tests.server.small_nursery import BEFORE, NOW, SITE_MORNING, Boat, fill
from tests.server.visitor import Visitor, texts

JPEG = b"\xff\xd8\xff\xe0 made up, and only its beginning is looked at"
SHOT, COMING = hashlib.sha256(JPEG).hexdigest(), hashlib.sha256(b"still on the tablet").hexdigest()


@dataclass(frozen=True, slots=True)
class Office:
    """A running office: its record and somebody who reads in it."""

    store: RecordStore
    visitor: Visitor

    def read(self, path: str) -> str:
        """What a reader reads of a page."""
        return texts(self.visitor.see(path))

    def rows(self, path: str) -> list[str]:
        """What a reader reads of each row of its tables."""
        return [texts(row) for row in re.findall(r"<tr.*?</tr>", self.visitor.see(path), re.DOTALL)]


@pytest.fixture(scope="module")
def office(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Office]:
    """The small nursery after some work, moves, dives and photos."""
    made: Nursery
    with new_nursery(tmp_path_factory.mktemp("histories")) as made:
        settings, store = made
        boats = fill(store)
        _work(boats.ana)
        _register(store)
        boats.ana.back()
        _photograph(settings, store)
        with running(settings) as (url, _):
            yield Office(store, Visitor(url, store))


def _work(ana: Boat) -> None:
    write = ana.author.write
    write(FragmentMoved, "fragment:L1-005", NOW, place="B1/1.4")
    write(FragmentPlanted, "fragment:NEW", NOW, place="L1/1.5", genet="G1", parent="T1-003")
    write(FragmentOutplanted, "fragment:T1-060", NOW, place="site:north-ledge")
    write(UpkeepDone, "structure:T1", NOW, work=("cleaned", "tie_replaced"), minutes=25)
    write(UpkeepDone, "fragment:T1-004", NOW, work=("tie_replaced",))
    write(NoteMade, "structure:T1", NOW, text="shackle worn")
    write(SizeMeasured, "fragment:T1-002", BEFORE, tle_mm=100, observed=SITE_MORNING.replace(month=10))
    write(SizeMeasured, "fragment:T1-002", NOW, tle_mm=124)
    for sha256 in (SHOT, COMING):
        write(PhotoTaken, "fragment:T1-002", NOW, sha256=sha256, size=len(JPEG), caption="from the north")
    write(DiveLogged, "visit:d1", NOW, people=("ana", "ben"), place="row 1", went_in=SITE_MORNING)


def _register(store: RecordStore) -> None:
    with store.office("ines") as office:
        office.write(GenetRegistered, "genet:G2", name="Second genet")


def _photograph(settings: Settings, store: RecordStore) -> None:
    PhotoStore(store, settings.photos).add(SHOT, 0, len(JPEG), JPEG)


def test_a_fragments_history_has_its_descent_surveys_sizes_and_photos(office: Office) -> None:
    """Newest survey first, with who said so; what it was cut from and what was cut from it."""
    page = office.visitor.see("/fragments/T1-003")
    for relative in ("T1-001", "T1-002", "NEW"):
        assert f'href="/fragments/{relative}"' in page, relative
    assert "F2" in texts(page)
    read = office.read("/fragments/T1-002")
    assert read.index("Survey by survey") < read.rindex(NOW) < read.rindex(BEFORE)
    assert "+282.8 mm a year" in read  # 24 mm in 31 days
    assert office.visitor.get("/fragments/NOBODY").status_code == 404


def test_photos_are_shown_that_came_and_named_that_are_still_on_a_tablet(office: Office) -> None:
    """The bytes of one that came are served as what they are; another address gives none."""
    page = office.visitor.see("/fragments/T1-002")
    assert f'<a href="/photos/{SHOT}"><img src="/photos/{SHOT}/small"' in page
    assert f"/photos/{COMING}" not in page
    answer = office.visitor.get(f"/photos/{SHOT}")
    assert (answer.content, answer.headers["content-type"]) == (JPEG, "image/jpeg")
    assert office.visitor.get(f"/photos/{COMING}").status_code == 404
    assert office.visitor.get("/photos/nonsense").status_code == 404


def test_a_positions_history_tells_who_hung_there_from_when_to_when(office: Office) -> None:
    """One was moved away in November, and another planted in its place."""
    rows = office.rows("/positions/L1/1.5")
    assert any("NEW" in row and NOW in row and "now" in row for row in rows)
    assert any("L1-005" in row and "the first record" in row and NOW in row and "B1/1.4" in row for row in rows)
    assert any("L1-005" in row and BEFORE in row and "entries" in row for row in rows)
    assert any("L1-005" in row and NOW in row for row in office.rows("/positions/B1/1.4"))
    assert office.visitor.get("/positions/L1/77.7").status_code == 404


def test_a_genets_family_counts_every_ramet_once_in_one_state(office: Office) -> None:
    """160 ramets: one died, four are missing, one is on the reef, and the others are held."""
    read = office.read("/genets/G1")
    assert "160 ramets ever" in read
    # ramets ever, then held, dead, lost, on the reef, taken out
    assert re.search(r"G1 Acropora cervicornis 160 \D*154 1 4 1 0 G2 – 0 ", office.read("/genets"))
    assert "No ramet yet" in office.read("/genets/G2")
    for state, many, name in (("dead", 1, "T1-032"), ("lost", 4, "T1-045"), ("outplanted", 1, "T1-060")):
        page = office.visitor.see(f"/genets/G1?state={state}")
        assert f'href="/fragments/{name}"' in page, state
        assert len(set(re.findall(r'<th scope="row">.*?href="/fragments/([^"]+)"', page))) == many, state


def test_a_structures_history_lists_work_notes_and_what_each_survey_found(office: Office) -> None:
    """Work on a fragment that hangs there is work there."""
    page = "/structures/T1"
    rows = office.rows(page)
    assert any("cleaned" in row and "25" in row and "Ana Crew" in row for row in rows)
    assert any("T1-004" in row and "Ana Crew" in row for row in rows)
    assert "“shackle worn”" in office.read(page)
    (now,) = (row for row in rows if row.split()[0] == NOW)
    assert "4 of 5 pages signed, 1 not reached" in now
    (before,) = (row for row in rows if row.split()[0] == BEFORE)
    assert "100" in before
    assert "5 of 5 pages signed" in before
    assert "No work on record" in office.read("/structures/L1")
    assert all(f'href="/structures/{name}"' in office.visitor.see("/structures") for name in ("T1", "L1", "B1"))
    assert office.visitor.get("/structures/T9").status_code == 404


def test_somebodys_dives_and_a_sites_fragments_are_listed(office: Office) -> None:
    """With whom, and since when; a survey's digest leads to those dives of theirs that were of it."""
    assert f'<a href="/crew/ana?survey={NOW}#dives">1 dive</a>' in office.visitor.see(f"/surveys/{NOW}/digest")
    assert any("d1" in row for row in office.rows(f"/crew/ana?survey={NOW}"))
    assert not any("d1" in row for row in office.rows(f"/crew/ana?survey={BEFORE}"))
    assert any("d1" in row and NOW in row and "Ben Crew" in row for row in office.rows("/crew/ana"))
    assert "No dive on record" in office.read("/crew/ines")
    assert office.visitor.get("/crew/nobody").status_code == 404
    assert "1 fragment was brought here" in office.read("/sites/north-ledge")
    assert any("T1-060" in row and "G1" in row and NOW in row for row in office.rows("/sites/north-ledge"))
    assert office.visitor.get("/sites/nowhere").status_code == 404


def test_the_entries_behind_a_finding_are_shown_as_they_were_written(office: Office) -> None:
    """To the letter, with the tablet that brought them."""
    held = office.store.entries_of(NOW, "fragment:T1-006")
    read = office.read(f"/surveys/{NOW}/entries/fragment/T1-006")
    for one in held:
        assert texts(one.raw.decode()) in read
    assert "Orange" in read
    assert "Grey" in read
