"""A supervisor corrects single facts of a fragment: any survey, any fact, with a reason, and back."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

import httpx
import pytest

from server.pages.values import value_from_form
from server.review.amending import AMENDABLE, draft_amendment, read_amendable
from server.review.bulk import RULES
from server.review.corrections import take_correction_back
from server.review.drafts import Draft, write_draft
from server.settings import Settings
from server.store.record import RecordStore
from shared_schema.entries import ConditionSeen, RulingGiven
from shared_schema.facts import FACTS
from shared_schema.ids import tag_code
from tests.server.conftest import Nursery
from tests.server.crooked import Crew, settle_in
from tests.server.running import new_nursery, running
from tests.server.small_nursery import NOW
from tests.server.visitor import Visitor, texts

WHERE = "/fragments/F1/correct"

RIGHT: dict[str, tuple[str | list[str], Any]] = {
    "status": ("fading", "fading"),
    "live_tissue": ("55", 55),
    "bleaching": ("pale", "pale"),
    "predator": ("snail", "snail"),
    "signs": (["spots", "band"], ["band", "spots"]),
    "overgrowth": (["algae"], ["algae"]),
    "breakage": ("tips", "tips"),
    "tie": ("loose", "loose"),
    "seen_at": ("L1/1.2", "L1/1.2"),
    "length_mm": ("43", 43),
    "width_mm": ("20", 20),
    "height_mm": ("31", 31),
    "tle_mm": ("210", 210),
    "place": ("site:Orsa", "site:Orsa"),
    "genet": ("G1", "G1"),
    "parent": ("F2", "F2"),
    "donor": ("reef 3", "reef 3"),
    "accession": ("2026/7", "2026/7"),
    "tag": (tag_code(5), tag_code(5)),
    "tag_state": ("missing", "missing"),
}
"""fact -> what somebody gives, and what stands then."""


@dataclass
class Office:
    """A nursery with its pages open, and the crew that brings entries."""

    store: RecordStore
    crew: Crew
    ines: Visitor

    def looked(self, survey: str, fact: str, value: str | list[str]) -> str:
        """The address of what a correction would write."""
        query = {"survey": survey or "standing", "fact": fact, "value": value, "look": "1"}
        return f"{WHERE}?{urlencode(query, doseq=True)}"

    def correct(self, survey: str, fact: str, value: str | list[str], reason: str = "misread") -> httpx.Response:
        """Give a value, look, give a reason and write."""
        return self.ines.send(self.ines.forms(self.looked(survey, fact, value), WHERE)[-1], reason=reason)

    def value(self, survey: str, fact: str) -> Any:
        """What a survey found of F1."""
        return self.store.finding(survey, "fragment:F1").value(fact)


@contextmanager
def opened(settings: Settings, store: RecordStore) -> Iterator[Office]:
    """Five fragments of one genet; F1 was seen alive by Ana and preyed on by Ben, who knew of her entry."""
    crew = settle_in(store)
    first = crew.sees(crew.ana, "F1", "alive", "T1/1.1.1")
    crew.ben.author.write(ConditionSeen, "fragment:F1", NOW, status="preyed_on", live_tissue=90, replaces=(first,))
    crew.back()
    with running(settings) as (url, _):
        yield Office(store, crew, Visitor(url, store))


@pytest.fixture
def office(lite: Nursery) -> Iterator[Office]:
    """The nursery for one test."""
    with opened(*lite) as office:
        yield office


@pytest.fixture(scope="module")
def still(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Office]:
    """One for all that write nothing."""
    with new_nursery(tmp_path_factory.mktemp("still")) as made, opened(*made) as office:
        yield office


def test_every_fact_that_a_fragment_has_can_be_corrected() -> None:
    """None is left out here, and none is asked for that cannot be ruled on."""
    assert set(AMENDABLE) == RIGHT.keys()
    assert all(FACTS[fact].mode == "register" for fact in AMENDABLE)


def test_each_fact_is_corrected_and_taken_back(lite: Nursery) -> None:
    """In a survey and in the first record alike; taken back, the fact is as it was."""
    _, store = lite
    crew = settle_in(store)
    crew.sees(crew.ana, "F1", "alive", "T1/1.1.1")
    crew.back()
    for number, (fact, (given, right)) in enumerate(RIGHT.items()):
        survey = NOW if number % 2 or fact == "genet" else ""
        before = store.finding(survey, "fragment:F1").value(fact)
        value = value_from_form(fact, [given] if isinstance(given, str) else given)

        def anew(survey: str = survey, fact: str = fact, value: Any = value) -> Draft:
            return draft_amendment(store, read_amendable(store, "F1", survey, fact), value)

        name = write_draft(store, "ines", anew, anew().seal, "misread")
        assert store.finding(survey, "fragment:F1").value(fact) == right, fact
        take_correction_back(store, "ines", name)
        assert store.finding(survey, "fragment:F1").value(fact) == before, fact


def test_a_correction_is_written_and_taken_back_on_the_pages(office: Office) -> None:
    """Several values of one fact too: none is lost on the way."""
    answer = office.correct("", "signs", ["spots", "band"])
    assert answer.status_code == 303
    assert office.value("", "signs") == ["band", "spots"]
    (back,) = office.ines.forms(answer.headers["location"], "/taken-back")
    assert office.ines.send(back).status_code == 303
    assert office.value("", "signs") is None


def test_a_correction_and_what_a_rule_settled_each_have_one_page(office: Office) -> None:
    """Both are batches: the address of the one, given the other's name, leads there."""
    corrected = office.correct("", "signs", ["spots"]).headers["location"]
    answer = office.ines.get(corrected.replace("/corrections/", "/rulings/batches/"))
    assert (answer.status_code, answer.headers["location"]) == (303, corrected)
    with office.store.office("ines") as writer:
        name = f"{writer.writer}-{writer.last + 1}-1"
        writer.write(RulingGiven, "fragment:F1", NOW, fact="status", value="alive", reason=RULES["one-step"].says, batch=name)
    answer = office.ines.get(f"/corrections/{name}")
    assert (answer.status_code, answer.headers["location"]) == (303, f"/rulings/batches/{name}")


def test_a_correction_is_told_from_what_a_rule_settled_whatever_its_reason(office: Office) -> None:
    """By what it is, and not by the words that somebody typed, which may be those of a rule."""
    corrected = office.correct("", "signs", ["spots"], RULES["one-step"].says).headers["location"]
    assert "<h1>Correction " in office.ines.see(corrected)


def test_a_correction_replaces_what_was_said_and_stands_in_the_history(office: Office) -> None:
    """With what it replaced, the reason and who; the entries of the crew stay as they are."""
    office.correct(NOW, "status", "bleached", "the photo shows white tissue")
    ruling = next(one.entry for one in office.store.entries_of(NOW, "fragment:F1") if isinstance(one.entry, RulingGiven))
    assert len(ruling.replaces) == 2
    read = texts(office.ines.see("/fragments/F1"))
    told = read.split("Condition: bleached , instead of ")[1].split(" by Inés Office")[0]
    assert sorted(told.split(" , ")) == ["alive (Ana Crew)", "preyed on (Ben Crew)"]
    assert "“the photo shows white tissue”" in read
    assert "by Inés Office" in read
    office.ines.send(office.ines.forms(f"/corrections/{ruling.batch}", "/taken-back")[0])
    assert "taken back" in texts(office.ines.see("/fragments/F1"))
    assert office.value(NOW, "status") == "preyed_on"


@pytest.mark.parametrize(
    ("fact", "value", "said"),
    [
        ("live_tissue", "101", "Live tissue: “101” cannot be. Give a whole number from 0 to 100."),
        ("live_tissue", "5,5", "“5,5” is not a whole number"),
        ("length_mm", "1000000", "Length: “1000000” cannot be. Give whole millimetres from 0 to 100000."),
        ("status", "splendid", "Condition: “splendid” cannot be. Choose a value from the list."),
        ("status", "preyed_on", "Condition: “preyed_on” is what stands already. Give another value."),
        ("place", "T1/9.9.9", "structure T1 has no position 9.9.9. Give one that it has, as T1/1.1.1."),
        ("place", "X9/1.1", "there is no structure X9"),
        ("seen_at", "ground", "Seen at: “ground” is no position. Give structure and position, as T07/3.2.4."),
        ("genet", "G8", "Genet: nobody registered “G8”. Give a genet that is in the record"),
        ("parent", "M7", "Cut from: there is no fragment “M7” in the record."),
        ("parent", "F1", "Cut from: “F1” cannot be: it descends from F1 itself."),
        ("tag", "a\nb", "Tag: “a b” cannot be. Give one line of at most 200 letters."),
        ("signs", "sadness", "Signs of disease: “['sadness']” cannot be. Choose a value from the list."),
        ("bleaching", "", "No new value was given"),
    ],
)
def test_a_value_that_cannot_be_is_refused_by_fact_value_and_what_to_do(still: Office, fact: str, value: str, said: str) -> None:
    """Nothing is written, and what was typed is still there."""
    before = still.store.heads()
    answer = still.ines.get(still.looked(NOW, fact, value))
    assert answer.status_code == 422
    assert said in texts(answer.text)
    assert still.ines.forms(WHERE, WHERE)
    assert still.store.heads() == before


def test_a_daughter_cannot_become_the_mother(office: Office) -> None:
    """Nor anybody further down the line."""
    office.crew.plants(office.crew.ana, "N1", "L1/1.1", parent="F1")
    office.crew.plants(office.crew.ana, "N2", "L1/1.2", parent="N1")
    office.crew.back()
    assert "descends from F1 itself" in texts(office.ines.get(office.looked(NOW, "parent", "N2")).text)


def test_a_correction_that_makes_something_not_add_up_says_so_before(office: Office) -> None:
    """Another hangs there: the supervisor may write it all the same, and knows."""
    read = texts(office.ines.see(office.looked(NOW, "place", "T1/1.1.2")))
    assert "Would not add up any more: F1 and F2 both hang at T1/1.1.2" in read
    assert office.correct(NOW, "place", "T1/1.1.2").status_code == 303
    assert "F1 and F2 both hang at T1/1.1.2" in texts(office.ines.see("/discrepancies"))


def test_what_came_meanwhile_is_not_covered(office: Office) -> None:
    """A tablet brings another word after the look: nothing is written, and the page shows it."""
    form = office.ines.forms(office.looked(NOW, "status", "bleached"), WHERE)[-1]
    office.crew.sees(office.crew.ana, "F1", "sick", "T1/1.1.1")
    office.crew.back()
    before = office.store.heads()
    answer = office.ines.send(form, reason="misread")
    assert answer.status_code == 409
    assert "Something came in while you looked" in texts(answer.text)
    assert office.store.heads() == before
    assert office.correct(NOW, "status", "bleached").status_code == 303
    assert office.store.finding(NOW, "fragment:F1").open == ()


def test_a_correction_needs_a_reason(office: Office) -> None:
    """Whoever asks later must find one."""
    answer = office.correct(NOW, "status", "bleached", " ")
    assert answer.status_code == 422
    assert "No reason was given" in texts(answer.text)


def test_the_fragments_page_leads_to_each_fact_of_each_survey(office: Office) -> None:
    """For supervisors; others read the history without pens."""
    page = office.ines.see("/fragments/F1")
    for address in ("survey=2026-11&amp;fact=status", "survey=2026-11&amp;fact=live_tissue", "survey=standing&amp;fact=place"):
        assert f'href="{WHERE}?{address}"' in page
    assert WHERE not in Visitor(office.ines.url, office.store, "rita", "reader").see("/fragments/F1")
    chooser = office.ines.see(f"{WHERE}?survey=2026-11")
    assert all(f'value="{fact}"' in chooser for fact in AMENDABLE)
    assert '<option value="2026-11" selected' in chooser
