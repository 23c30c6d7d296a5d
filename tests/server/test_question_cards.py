"""What stands on a question's card: photos and slates behind each word, the surveys before and after, and places on the map."""

import hashlib
from typing import Any

import pytest

from server.pages.cards import cards_of
from server.pages.door import Visitor
from server.review.albums import Photo
from server.review.evidence import photos_behind
from server.review.questions import list_questions, read_question, read_questions
from server.settings import Settings
from server.store.photos import PhotoStore
from server.store.record import RecordStore
from shared_schema.entries import PhotoTaken
from tests.server.conftest import Nursery
from tests.server.small_nursery import BEFORE, NOW, Boat, SmallNursery, fill

ONE = "fragment:T1-001"
INES = Visitor("ines", "Inés Office", "token", 0)


@pytest.fixture
def boats(nursery: Nursery) -> SmallNursery:
    """The small nursery, on each database."""
    return fill(nursery[1])


def photo(boat: Boat, subject: str, name: str, **fields: Any) -> bytes:
    """A photo that a boat took; gives its bytes, which are still on the tablet."""
    content = b"\xff\xd8\xff\xe0" + name.encode()
    told: dict[str, Any] = {"survey": NOW, "sha256": hashlib.sha256(content).hexdigest(), "size": len(content), "caption": name}
    boat.author.write(PhotoTaken, subject, **(told | fields))
    return content


def arrive(nursery: Nursery, content: bytes) -> None:
    """The bytes of a photo reach the server."""
    settings: Settings = nursery[0]
    PhotoStore(nursery[1], settings.photos).add(hashlib.sha256(content).hexdigest(), 0, len(content), content)


def behind(store: RecordStore, subject: str, by: str) -> list[Photo]:
    """The photos behind what somebody said of a coral's condition."""
    question = read_question(store, NOW, subject, "status")
    (said,) = [one for one in question.disputed if one.entry.by == by]
    return photos_behind(store, [question])[said.entry.id]


def captions(photos: list[Photo]) -> list[str | None]:
    """What the photos are called."""
    return [one.entry.caption for one in photos]


def test_each_word_has_its_own_photos_and_the_slate_of_its_page(nursery: Nursery, boats: SmallNursery) -> None:
    """Slates first; not those of somebody else, of another page, of another survey, or pictures of the whole page."""
    _, store = nursery
    photo(boats.ana, ONE, "coral by Ana")
    slate = photo(boats.ana, "page:T1/1", "slate of level 1", slate=True)
    photo(boats.ana, "page:T1/2", "slate of level 2", slate=True)
    photo(boats.ana, "page:T1/1", "fish on level 1")
    photo(boats.ana, "page:T1/1", "slate of the survey before", slate=True, survey=BEFORE)
    photo(boats.ben, ONE, "coral by Ben")
    photo(boats.ben, "structure:T1", "slate of the tree", slate=True)
    boats.ana.back()
    boats.ben.back()
    arrive(nursery, slate)
    assert captions(behind(store, ONE, "ana")) == ["slate of level 1", "coral by Ana"]
    assert captions(behind(store, ONE, "ben")) == ["slate of the tree", "coral by Ben"]
    assert [one.here for one in behind(store, ONE, "ana")] == [True, False]


def test_a_slate_belongs_to_its_dive_where_it_has_one(nursery: Nursery, boats: SmallNursery) -> None:
    """Two dives on one level with one tablet: each word stands beside the slates of its own dive."""
    _, store = nursery
    for dive, status in (("d1", "sick"), ("d2", "dead")):
        boats.ben.saw("T1-050", "T1/3.2.5", status, visit=dive, by="ben" if dive == "d1" else "cleo", replaces=())
        photo(boats.ben, "page:T1/3", f"slate of {dive}", slate=True, visit=dive)
        photo(boats.ben, f"visit:{dive}", f"second slate of {dive}", slate=True, visit=dive)
    boats.ben.back()
    assert captions(behind(store, "fragment:T1-050", "ben")) == ["slate of d1", "second slate of d1"]
    assert captions(behind(store, "fragment:T1-050", "cleo")) == ["slate of d2", "second slate of d2"]


def test_a_question_knows_what_the_surveys_next_to_it_found(nursery: Nursery, boats: SmallNursery) -> None:
    """The last before and the first after, and whether those are open themselves."""
    _, store = nursery
    for survey, status in (("2027-01", "lost"), ("2026-12", "bleached")):
        boats.ana.saw("T1-001", "T1/1.1.1", status, survey=survey)
    boats.ben.saw("T1-001", "T1/1.1.1", "dead", survey="2026-12")
    boats.ana.back()
    boats.ben.back()
    question = read_question(store, NOW, ONE, "status")
    assert question.earlier is not None
    assert question.later is not None
    assert (question.earlier.survey, question.earlier.value, question.earlier.open) == (BEFORE, "alive", False)
    assert (question.later.survey, question.later.value, question.later.open) == ("2026-12", "dead", True)
    assert read_question(store, "2027-01", ONE, "status").later is None


def test_each_word_is_pointed_out_where_it_says(nursery: Nursery, boats: SmallNursery) -> None:
    """Two who saw a coral in two places are two marks, on two drawings where the pages differ."""
    _, store = nursery
    boats.ben.saw("T1-020", "T1/1.4.4", "lost")
    boats.ben.saw("T1-025", "T1/4.1.1", "dead")
    boats.ben.back()
    cards = {card.question.key.subject: card for card in cards_of(store, INES, read_questions(store, list_questions(store, NOW)))}
    marks = {name: [dict(view.marks) for view in card.views] for name, card in cards.items()}
    assert marks[ONE] == [{"T1/1.1.1".partition("/")[2]: (1, 2)}]
    assert sorted(marks["fragment:T1-020"][0]) == ["1.4.4", "1.4.5"]
    assert [sorted(one) for one in marks["fragment:T1-025"]] == [["2.1.5"], ["4.1.1"]]
    assert cards[ONE].id == "q-fragment-T1-001-status"
