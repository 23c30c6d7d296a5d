"""A supervisor puts right what does not add up, on the pages: sees what is said, chooses, looks, writes, takes back."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

import httpx
import pytest

from server.review.discrepancies import list_discrepancies
from server.store.record import RecordStore
from shared_schema.entries import GenetRegistered, RulingGiven
from tests.server.conftest import Nursery
from tests.server.crooked import CROOKED, GIVEN, Crew, settle_in
from tests.server.running import running
from tests.server.small_nursery import BEFORE, NOW
from tests.server.visitor import Form, Visitor, texts

TWO = "/discrepancies/two_in_one_place/standing/F1,F2"
ELSEWHERE = "hangs_elsewhere-fragment=F2-place=T1/1.1.1"


@dataclass
class Office:
    """A nursery with its pages open, and the crew that brings entries."""

    store: RecordStore
    crew: Crew
    ines: Visitor

    def make(self, *what: str) -> None:
        """Let crews enter what does not add up."""
        for one in what:
            CROOKED[one][1](self.crew)
        self.crew.back()

    def looked(self, address: str, take: str, given: str = "") -> str:
        """The address of what a choice would write."""
        return f"{address}?{urlencode({'repair': take} | ({f'given-{take}': given} if given else {}))}"

    def write(self, address: str, take: str, given: str = "", reason: str = "photo of the tag") -> httpx.Response:
        """Choose, look, give a reason and write."""
        return self.ines.send(self.form(address, take, given), reason=reason)

    def form(self, address: str, take: str, given: str = "") -> Form:
        """The form that writes what a choice shows."""
        shown = self.ines.forms(self.looked(address, take, given), address)
        return next(one for one in shown if "seal" in dict(one.hidden))


@pytest.fixture
def office(lite: Nursery) -> Iterator[Office]:
    """A tree, a line and five fragments, seen by Inés."""
    settings, store = lite
    crew = settle_in(store)
    with running(settings) as (url, _):
        yield Office(store, crew, Visitor(url, store))


def place_of(store: RecordStore, name: str) -> Any:
    """Where a fragment hangs."""
    return store.standing(f"fragment:{name}").value("place")


def test_the_list_leads_to_a_page_for_each_that_says_who_said_what_and_when(office: Office) -> None:
    """The place on the drawing, the tablet and its clock, three times, and what every survey found."""
    office.make("two in one place", "unknown mother")
    listed = office.ines.see("/discrepancies")
    assert "2 do not add up" in texts(listed)
    assert f'href="{TWO}"' in listed
    page = office.ines.see(TWO)
    read = texts(page)
    for said in (
        "F1 and F2 both hang at T1/1.1.1",
        "Place T1/1.1.1 2026-11 Ben Crew moved on tablet Grey",
        "clock 7 minutes slow",
        "observed 14 Nov 2026, 09:40",
        "received 14 Nov 2026, 13:05",
        "planted at the office",
        "F2 still hangs at T1/1.1.2, as before, not at T1/1.1.1",
        "The two were swapped: F2 hangs at T1/1.1.1, F1 at T1/1.1.2",
        "F1 is no longer here: lost",
        "Leave it: it is right as it stands",
    ):
        assert said in read, said
    assert page.count('class="pointer"') == 1


def test_looking_at_a_choice_writes_nothing_and_says_what_it_would(office: Office) -> None:
    """Which entry, what it replaces, and what stands then."""
    office.make("two in one place")
    before = office.store.heads()
    read = texts(office.ines.see(office.looked(TWO, ELSEWHERE, GIVEN["place"])))
    assert "F2 2026-11 Place T1/1.1.1 Ben Crew" in read
    assert "L1/1.9 ruling" in read
    assert "Adds up again: F1 and F2 both hang at T1/1.1.1" in read
    assert office.store.heads() == before


def test_a_choice_is_written_with_its_reason_and_taken_back_as_one(office: Office) -> None:
    """Afterwards the same address says that it adds up, by whom and why; taken back it is as it was."""
    office.make("seen where another hangs")
    address = f"/discrepancies/one_in_two_places/{NOW}/F1"
    answer = office.write(address, "swapped-fragment=F1-other=F2-other_place=T1/1.1.1-place=T1/1.1.2")
    assert (answer.status_code, answer.headers["location"]) == (303, address)
    assert (place_of(office.store, "F1"), place_of(office.store, "F2")) == ("T1/1.1.2", "T1/1.1.1")
    read = texts(office.ines.see(address))
    assert "this adds up" in read
    assert "by Inés Office" in read
    assert "“photo of the tag”" in read
    assert "2 entries" in read
    assert "“photo of the tag”" in texts(office.ines.see("/fragments/F2"))
    back = office.ines.forms(address, "/taken-back")[0]
    assert office.ines.send(back).status_code == 303
    assert (place_of(office.store, "F1"), place_of(office.store, "F2")) == ("T1/1.1.1", "T1/1.1.2")
    assert "does not add up" in texts(office.ines.see(address))
    page = office.ines.see(back.action.removesuffix("/taken-back"))
    assert "All of it was taken back" in texts(page)
    assert "<h1>Repair " in page


def test_what_came_meanwhile_is_shown_and_nothing_is_written(office: Office) -> None:
    """The reason that was typed stays, and a second look writes."""
    office.make("two in one place")
    form = office.form(TWO, ELSEWHERE, GIVEN["place"])
    office.crew.sees(office.crew.ana, "F2", "dead", "T1/1.1.1")
    office.crew.back()
    before = office.store.heads()
    answer = office.ines.send(form, reason="typed already")
    assert answer.status_code == 409
    assert office.store.heads() == before
    assert "Something came in while you looked" in texts(answer.text)
    assert 'value="typed already"' in answer.text
    assert "dead in place" in texts(answer.text)
    assert office.write(TWO, ELSEWHERE, GIVEN["place"]).status_code == 303
    assert place_of(office.store, "F2") == GIVEN["place"]


REFUSED = (
    ("", "Where it hangs"),
    ("T1/9.9.9", "Place: “T1/9.9.9” cannot be: structure T1 has no position 9.9.9. Give one that it has, as T1/1.1.1."),
    ("X9/1.1", "there is no structure X9"),
    ("over there", "Place: “over there” is no place. Give a position, as T07/3.2.4"),
)


def test_a_place_that_cannot_be_is_refused_and_says_what_to_do(office: Office) -> None:
    """The page comes back with the choice and what was typed."""
    office.make("two in one place")
    for given, said in REFUSED:
        answer = office.ines.get(office.looked(TWO, ELSEWHERE, given))
        assert answer.status_code == 422
        assert said in texts(answer.text)
        assert given in answer.text


def test_nothing_is_written_without_a_reason(office: Office) -> None:
    """Blanks are none; the choice is still there."""
    office.make("two in one place")
    answer = office.write(TWO, "lost-fragment=F1", reason="   ")
    assert answer.status_code == 422
    assert "No reason was given" in texts(answer.text)
    assert "lost" not in str(office.store.standing("fragment:F1").value("status"))


def test_what_is_left_as_it_is_stays_in_the_list_with_its_reason(office: Office) -> None:
    """Two on one tie: nothing is wrong, and whoever comes next reads why."""
    office.make("two in one place")
    office.write(TWO, "left", reason="both on one tie, until spring")
    read = texts(office.ines.see("/discrepancies"))
    assert "left as it is “both on one tie, until spring” Inés Office" in read
    assert "Left as it is by Inés Office" in texts(office.ines.see(TWO))
    assert len(list_discrepancies(office.store)) == 1


def test_what_turned_into_another_one_leads_there(office: Office) -> None:
    """Of three in one position one is lost: the address of the three names the two that are left."""
    office.make("two in one place")
    office.crew.moves(office.crew.ana, "F3", "T1/1.1.1")
    office.crew.back()
    three = "/discrepancies/two_in_one_place/standing/F1,F2,F3"
    office.write(three, "lost-fragment=F3")
    page = office.ines.see(three)
    assert "this adds up" not in texts(page)
    assert f'href="{TWO}"' in page
    office.write(TWO, "lost-fragment=F2")
    assert "this adds up" in texts(office.ines.see(three))


def test_registering_a_genet_is_an_entry_of_its_own_kind(office: Office) -> None:
    """It has a page like every other genet, until it is taken back."""
    office.make("unknown genet")
    address = "/discrepancies/unknown_genet/standing/N1"
    office.write(address, "genet_registered-fragment=N1-genet=G9")
    assert office.ines.get("/genets/G9").status_code == 200
    kinds = [type(one.entry) for one in office.store.entries_of("", "genet:G9")]
    assert kinds == [GenetRegistered]
    assert list_discrepancies(office.store) == []
    office.ines.send(office.ines.forms(address, "/taken-back")[0])
    assert [one.sort for one in list_discrepancies(office.store)] == ["unknown_genet"]


def test_a_genet_can_be_chosen_from_those_that_are_registered(office: Office) -> None:
    """And no other is taken."""
    office.make("unknown genet")
    address, take = "/discrepancies/unknown_genet/standing/N1", "other_genet-fragment=N1-genet=G9"
    assert "<option>G1</option>" in office.ines.see(address)
    answer = office.ines.get(office.looked(address, take, "G8"))
    assert "Genet: nobody registered “G8”" in texts(answer.text)
    office.write(address, take, "G1")
    assert office.store.standing("fragment:N1").value("genet") == "G1"


def test_it_was_never_dead_rules_on_every_survey_that_said_so(office: Office) -> None:
    """Two surveys running said dead: both are ruled on, and nothing else is."""
    office.make("dead then alive")
    address = f"/discrepancies/dead_then_alive/{NOW}/F1"
    office.write(address, f"never_dead-fragment=F1-survey={BEFORE}", "fading")
    ruled = {
        survey: [one.entry.value for one in office.store.entries_of(survey, "fragment:F1") if isinstance(one.entry, RulingGiven)]
        for survey in ("2026-09", BEFORE, NOW)
    }
    assert ruled == {"2026-09": ["fading"], BEFORE: ["fading"], NOW: []}


def test_only_supervisors_are_offered_choices(office: Office) -> None:
    """A reader sees what is said and what was done; forms of others' making are refused."""
    office.make("two in one place")
    form = office.form(TWO, "left")
    for person, role in (("rita", "reader"), ("cleo", "crew")):
        visitor = Visitor(office.ines.url, office.store, person, role)  # type: ignore[arg-type]  # a role
        page = visitor.see(office.looked(TWO, "left"))
        assert "both hang at" in page
        assert "What to do about it" not in page
        assert visitor.forms(TWO, "/discrepancies") == []
        mine = dict(visitor.forms(TWO, "/leave")[0].hidden)
        stolen = Form(form.action, [("token", mine["token"]), *((name, value) for name, value in form.hidden if name != "token")])
        assert visitor.send(stolen, reason="mine").status_code == 403
        assert visitor.get("/fragments/F1/correct").status_code == 403
    office.write(TWO, "left")
    assert "left as it is" in texts(Visitor(office.ines.url, office.store, "rita", "reader").see(TWO))


def test_another_supervisor_reads_who_can_take_it_back(office: Office) -> None:
    """And is refused without a button."""
    office.make("seen elsewhere")
    address = f"/discrepancies/one_in_two_places/{NOW}/F1"
    office.write(address, "moved_there-fragment=F1-place=L1/1.3")
    other = Visitor(office.ines.url, office.store, "otto")
    assert other.forms(address, "/taken-back") == []
    assert "Only Inés Office can take it back" in texts(other.see(address))
    back = office.ines.forms(address, "/taken-back")[0]
    mine = dict(other.forms(address, "/leave")[0].hidden)
    assert other.send(Form(back.action, [("token", mine["token"])])).status_code == 403
    assert place_of(office.store, "F1") == "L1/1.3"


def test_with_scripts_the_case_alone_comes_back(office: Office) -> None:
    """What htmx asks for is the card, also when it is refused."""
    office.make("two in one place")
    answer = httpx.get(office.ines.url + office.looked(TWO, "left"), headers={"HX-Request": "true"}, cookies=office.ines.cookies)
    assert "<html" not in answer.text
    assert "ruling: as it is" in texts(answer.text)
    form = office.form(TWO, "left")
    refused = office.ines.send(form, {"HX-Request": "true"}, reason=" ")
    assert (refused.status_code, "<html" in refused.text) == (200, False)
    assert "No reason was given" in texts(refused.text)
    done = office.ines.send(form, {"HX-Request": "true"}, reason="one tie")
    assert (done.status_code, "<html" in done.text) == (200, False)
    assert "left as it is" in texts(done.text)


def test_an_address_that_never_was_says_so(office: Office) -> None:
    """Whatever somebody types."""
    for path in (
        "/discrepancies/what/standing/F1",
        "/discrepancies/tag_twice/standing/F1,none",
        "/discrepancies/tag_twice/standing/,",
        "/corrections/office-1-1",
        "/corrections/x",
        "/fragments/none/correct?fact=status",
        "/fragments/F1/correct?fact=what",
        "/fragments/F1/correct?fact=status&survey=2031-01",
    ):
        assert office.ines.get(path).status_code == 404, path
    assert "this adds up" in texts(office.ines.see("/discrepancies/tag_twice/standing/F1,F2"))
    assert office.ines.get(office.looked("/discrepancies/tag_twice/standing/F1,F2", "left")).status_code == 422
