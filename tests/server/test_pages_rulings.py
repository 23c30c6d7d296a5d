"""A supervisor settles questions on the pages; what nobody showed them is never covered."""

from collections.abc import Iterator
from dataclasses import dataclass

import pytest

from server.store.record import RecordStore
from shared_schema.entries import EntryWithdrawn, RulingGiven
from shared_schema.envelope import BaseEntry
from tests.server.conftest import Nursery
from tests.server.running import running
from tests.server.small_nursery import NOW, SmallNursery, fill
from tests.server.visitor import Form, Visitor, texts

QUESTIONS = f"/surveys/{NOW}/questions"


@dataclass
class Office:
    """The small nursery with its pages open."""

    store: RecordStore
    boats: SmallNursery
    visitor: Visitor

    def form(self, fragment: str, fact: str = "status") -> Form:
        """The form that settles a question about a fragment."""
        address = f"{QUESTIONS}/fragment/{fragment}/{fact}"
        return self.visitor.forms(address, address)[0]

    def entries(self, fragment: str) -> list[BaseEntry]:
        """The entries about a fragment in the present survey."""
        return [one.entry for one in self.store.entries_of(NOW, f"fragment:{fragment}") if one.entry is not None]

    def value(self, fragment: str, fact: str = "status") -> tuple[object, bool]:
        """What the survey found of a fact, and whether that is open."""
        slot = self.store.finding(NOW, f"fragment:{fragment}").slots[fact]
        return slot.value, slot.open

    def said(self, fragment: str, status: str) -> str:
        """The id of the statement with a status."""
        return next(one.id for one in self.entries(fragment) if getattr(one, "status", None) == status)


@pytest.fixture
def office(lite: Nursery) -> Iterator[Office]:
    """The small nursery, seen by Inés."""
    settings, store = lite
    boats = fill(store)
    with running(settings) as (url, _):
        yield Office(store, boats, Visitor(url, store))


def rulings(entries: list[BaseEntry]) -> list[RulingGiven]:
    """The rulings among entries."""
    return [one for one in entries if isinstance(one, RulingGiven)]


def test_taking_a_value_settles_the_question_with_the_reason(office: Office) -> None:
    """The ruling is the office's, by the person with the key, and saw every statement of the fact."""
    answer = office.visitor.send(office.form("T1-001"), take=office.said("T1-001", "lost"), reason=" bare tie ")
    assert answer.status_code == 303
    (ruling,) = rulings(office.entries("T1-001"))
    assert (ruling.value, ruling.reason, ruling.by) == ("lost", "bare tie", "ines")
    assert set(ruling.replaces) == {one.id for one in office.entries("T1-001")} - {ruling.id}
    assert office.value("T1-001") == ("lost", False)
    read = texts(office.visitor.see(answer.headers["location"]))
    assert "settled: lost" in read
    assert "by Inés Office" in read


def test_a_statement_that_was_answered_is_in_front_of_the_ruling_too(office: Office) -> None:
    """Ana corrected herself; the ruling replaces her first word as well as her second."""
    first, second = (one.id for one in office.entries("T1-010") if one.by == "ana")
    office.visitor.send(office.form("T1-010", "live_tissue"), take="other", other="55")
    (ruling,) = rulings(office.entries("T1-010"))
    assert second in ruling.replaces
    assert first not in ruling.replaces, "her first word said nothing of live tissue"
    assert office.value("T1-010", "live_tissue") == (55, False)


def test_a_new_value_can_be_given(office: Office) -> None:
    """Neither of the two was right."""
    office.visitor.send(office.form("T1-006"), take="other", other="fading")
    assert office.value("T1-006") == ("fading", False)


def test_settling_one_fact_leaves_the_others_of_the_entry_alone(office: Office) -> None:
    """A ruling on the condition says nothing of live tissue."""
    office.visitor.send(office.form("T1-006"), take=office.said("T1-006", "sick"))
    assert office.value("T1-006", "live_tissue") == (60, False)


@pytest.mark.parametrize(
    ("fact", "chosen", "said"),
    [
        ("status", {}, "Nothing was chosen"),
        ("status", {"take": "office0-999"}, "Nothing was chosen"),
        ("status", {"take": "other", "other": ""}, "No new value was given"),
        ("status", {"take": "other", "other": "splendid"}, "splendid"),
        ("live_tissue", {"take": "other", "other": "101"}, "101"),
        ("live_tissue", {"take": "other", "other": "5,5"}, "not a whole number"),
    ],
)
def test_a_value_that_cannot_be_is_refused_and_says_why(office: Office, fact: str, chosen: dict[str, str], said: str) -> None:
    """Nothing is written, and the question comes back with the reason."""
    before = office.store.heads()
    answer = office.visitor.send(office.form("T1-006" if fact == "status" else "T1-010", fact), None, **chosen)
    assert answer.status_code == 422
    assert said in texts(answer.text)
    assert office.store.heads() == before


def test_what_arrived_after_the_page_was_shown_is_not_covered(office: Office) -> None:
    """Ben's tablet brings another word while the supervisor thinks: the question stays open and shows it."""
    form = office.form("T1-001")
    late = office.boats.ben.saw("T1-001", "T1/1.1.1", "dead", replaces=())
    office.boats.ben.back()
    answer = office.visitor.send(form, take=office.said("T1-001", "alive"))
    (ruling,) = rulings(office.entries("T1-001"))
    assert late.id not in ruling.replaces
    assert office.value("T1-001") == ("dead", True)
    page = office.visitor.see(answer.headers["location"])
    assert "Still open." in page
    assert late.id in page


def test_a_later_word_with_the_rulings_value_does_not_reopen(office: Office) -> None:
    """Only another value opens a question again."""
    office.visitor.send(office.form("T1-001"), take=office.said("T1-001", "lost"))
    office.boats.ben.saw("T1-001", "T1/1.1.1", "lost", replaces=())
    office.boats.ben.back()
    assert office.value("T1-001") == ("lost", False)


def test_sending_the_same_form_twice_gives_one_ruling(office: Office) -> None:
    """A double click is one ruling."""
    form, take = office.form("T1-001"), office.said("T1-001", "lost")
    for _ in range(2):
        assert office.visitor.send(form, take=take).status_code == 303
    assert len(rulings(office.entries("T1-001"))) == 1


def test_two_supervisors_who_did_not_see_each_other_are_shown_as_that(office: Office) -> None:
    """Each ruled on the same form with another value: the question is open between them, until one has seen both."""
    form = office.form("T1-001")
    other = Visitor(office.visitor.url, office.store, "cleo")
    theirs = other.forms(form.action, form.action)[0]
    office.visitor.send(form, take=office.said("T1-001", "lost"))
    other.send(theirs, take=office.said("T1-001", "alive"))
    assert office.value("T1-001") == ("lost", True)
    office.visitor.send(office.form("T1-001"), take="other", other="alive")
    assert office.value("T1-001") == ("alive", False)


def test_a_ruling_can_be_taken_back_by_who_gave_it(office: Office) -> None:
    """The question is as open as before, and both words stay in sight."""
    form = office.form("T1-001")
    office.visitor.send(form, take=office.said("T1-001", "lost"))
    back = office.visitor.forms(form.action, "/taken-back")[0]
    for _ in range(2):
        assert office.visitor.send(back).status_code == 303
    assert office.value("T1-001") == ("lost", True)
    assert sum(isinstance(one, EntryWithdrawn) for one in office.entries("T1-001")) == 1
    assert "withdrawn" in texts(office.visitor.see(form.action))
    office.visitor.send(office.form("T1-001"), take=office.said("T1-001", "alive"))
    assert office.value("T1-001") == ("alive", False)


def test_nobody_takes_back_what_somebody_else_ruled(office: Office) -> None:
    """Another supervisor sees no button for it, is refused without it, and may rule anew."""
    form = office.form("T1-001")
    office.visitor.send(form, take=office.said("T1-001", "lost"))
    back = office.visitor.forms(form.action, "/taken-back")[0]
    other = Visitor(office.visitor.url, office.store, "cleo")
    assert not other.forms(form.action, "/taken-back")
    mine = other.forms(form.action, form.action)[0]
    assert other.send(Form(back.action, mine.hidden)).status_code == 403
    assert other.send(mine, take=office.said("T1-001", "alive")).status_code == 303
    assert office.value("T1-001") == ("alive", False)


def test_a_ruling_has_an_address_that_lasts(office: Office) -> None:
    """It leads to the question that it answers."""
    form = office.form("T1-001")
    office.visitor.send(form, take=office.said("T1-001", "lost"))
    (ruling,) = rulings(office.entries("T1-001"))
    answer = office.visitor.get(f"/rulings/{ruling.id}")
    assert (answer.status_code, answer.headers["location"]) == (303, form.action)


def test_ids_that_were_never_shown_cannot_be_smuggled_into_a_ruling(office: Office) -> None:
    """A ruling replaces statements of its own question only."""
    form = office.form("T1-001")
    strange = office.said("T1-006", "sick")
    form.hidden.append(("shown", strange))
    office.visitor.send(form, take=office.said("T1-001", "lost"))
    (ruling,) = rulings(office.entries("T1-001"))
    assert strange not in ruling.replaces
    assert office.value("T1-006")[1]


def test_with_scripts_the_card_alone_comes_back(office: Office) -> None:
    """What htmx asks for is the card and the number of questions left, not a page."""
    answer = office.visitor.send(office.form("T1-001"), {"HX-Request": "true"}, take=office.said("T1-001", "lost"), reason="seen")
    assert answer.status_code == 200
    assert "<html" not in answer.text
    assert "2 open" in texts(answer.text)
    assert 'hx-swap-oob="true"' in answer.text
