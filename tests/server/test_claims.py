"""Two supervisors at once: each is told at which question the other is, and what the other said; nobody is kept from anything."""

import json
from collections.abc import Iterator
from datetime import timedelta

import httpx
import pytest

from server.access.sessions import list_sessions
from server.pages.addresses import card_name
from server.review.answers import answers_after, read_last_word
from server.review.bulk import apply_rule, preview_rule, take_batch_back
from server.review.claims import LASTS, claim, let_go, read_claims
from server.review.questions import Key, read_question
from server.review.rulings import give_ruling, take_ruling_back
from server.store.record import RecordStore
from tests.server.conftest import Nursery
from tests.server.entering import later
from tests.server.running import running
from tests.server.small_nursery import NOW, fill
from tests.server.visitor import Visitor

FIRST, SECOND = (Key(NOW, f"fragment:{name}", "status") for name in ("T1-001", "T1-006"))


def at(store: RecordStore) -> list[tuple[str, str]]:
    """(person, subject) of everybody who is at a question."""
    return [(one.person, one.key.subject) for one in read_claims(store)]


def test_a_browser_is_at_one_question_at_a_time_and_keeps_since_when(nursery: Nursery) -> None:
    """Going to the next leaves the one before; a sign of life at the same one does not begin anew."""
    _, store = nursery
    claim(store, "s1", "ines", FIRST)
    (begun,) = read_claims(store)
    claim(later(store, timedelta(minutes=2)), "s1", "ines", FIRST)
    assert [one.since_ms for one in read_claims(store)] == [begun.since_ms]
    claim(store, "s2", "cleo", FIRST)
    claim(store, "s1", "ines", SECOND)
    assert sorted(at(store)) == [("cleo", "fragment:T1-001"), ("ines", "fragment:T1-006")]


def test_being_at_a_question_ends_by_itself_and_on_leaving(nursery: Nursery) -> None:
    """Some minutes after the last sign of life nobody is told any more; who left another question left nothing here."""
    _, store = nursery
    claim(store, "s1", "ines", FIRST)
    claim(later(store, timedelta(minutes=3)), "s1", "ines", FIRST)
    assert at(later(store, LASTS + timedelta(minutes=2))) == [("ines", "fragment:T1-001")]
    assert at(later(store, LASTS + timedelta(minutes=4))) == []
    let_go(store, "s1", SECOND)
    assert at(store) != []
    let_go(store, "s1", FIRST)
    assert at(store) == []


def test_the_last_word_of_a_person_is_found_until_it_is_taken_back(nursery: Nursery) -> None:
    """One's own, in this survey; after it is taken back the one before it."""
    _, store = nursery
    fill(store)
    start = store.heads()[next(name for name in store.heads() if name.startswith("office"))]
    words = [
        give_ruling(store, by, question, value, question.shown, None).ruling
        for by, key, value in (("ines", FIRST, "lost"), ("ines", SECOND, "sick"), ("cleo", FIRST, "alive"))
        for question in (read_question(store, key.survey, key.subject, key.fact),)
    ]
    first, second, _ = (word.entry.id for word in words if word is not None)
    assert [(one.key.subject, one.by) for one in answers_after(store, start)] == [
        ("fragment:T1-001", "cleo"),
        ("fragment:T1-006", "ines"),
    ]
    for name in (second, first):
        word = read_last_word(store, "ines", NOW)
        assert word is not None
        assert word.entry.id == name
        take_ruling_back(store, "ines", name)
    assert read_last_word(store, "ines", NOW) is None
    assert read_last_word(store, "cleo", "2026-10") is None
    assert {one.what for one in answers_after(store, start) if one.by == "ines"} == {"taken_back"}


def test_a_word_that_was_given_with_others_leads_to_all_of_them(nursery: Nursery) -> None:
    """Whoever wants it back takes all of it back: the word names its batch, and whether a rule gave it."""
    _, store = nursery
    fill(store)
    batch = apply_rule(store, "ines", NOW, preview_rule(store, NOW, "one-person", "ben"))
    word = read_last_word(store, "ines", NOW)
    assert word is not None
    assert (word.batch, word.by_rule) == (batch, True)
    take_batch_back(store, "ines", batch)
    assert read_last_word(store, "ines", NOW) is None


@pytest.fixture
def pair(lite: Nursery) -> Iterator[tuple[RecordStore, Visitor, Visitor]]:
    """Inés and Cleo at their desks."""
    settings, store = lite
    fill(store)
    with running(settings) as (url, _):
        yield store, Visitor(url, store), Visitor(url, store, "cleo")


def hear(visitor: Visitor, office: int) -> dict[str, dict[str, list[object]]]:
    """The first that a page with questions hears of others."""
    address = f"{visitor.url}/live?since=10000000&survey={NOW}&office={office}"
    with httpx.stream("GET", address, cookies=visitor.cookies, timeout=20) as answer:
        lines = answer.iter_lines()
        for line in lines:
            if line == "event: desks":
                heard: dict[str, dict[str, list[object]]] = json.loads(next(lines).removeprefix("data: "))
                return heard
    raise AssertionError("the stream ended without a word")


def test_an_open_page_hears_who_is_at_a_question_and_who_answered(pair: tuple[RecordStore, Visitor, Visitor]) -> None:
    """By card, with the name of whoever it is; answering ends being at it."""
    store, ines, cleo = pair
    office = store.heads()[next(name for name in store.heads() if name.startswith("office"))]
    address = f"/surveys/{NOW}/questions/fragment/T1-001/status"
    form = ines.forms(address, address)[0]
    assert at(store) == [("ines", "fragment:T1-001")]
    heard = hear(cleo, office)
    assert heard["claims"][card_name(FIRST.subject, FIRST.fact)][0] == "Inés Office"
    assert heard["answers"] == {}
    statement = read_question(store, NOW, "fragment:T1-001", "status").disputed[0]
    ines.send(form, take=statement.entry.id)
    assert at(store) == []
    heard = hear(cleo, office)
    assert heard["claims"] == {}
    assert hear(cleo, office + 1) == {"claims": {}, "answers": {}}, "who left before the page listened is told too"
    assert heard["answers"][card_name(FIRST.subject, FIRST.fact)][0] == "Inés Office"


def test_a_page_says_where_its_reader_is_and_that_they_left(pair: tuple[RecordStore, Visitor, Visitor]) -> None:
    """By the forms that the pages send by themselves; only for a question that there is."""
    store, ines, _ = pair
    token = ines.forms("/account", "/leave")[0].hidden
    said = {"Origin": ines.url, "Sec-Fetch-Site": "same-origin"}
    body = {name: [value] for name, value in token} | {"survey": [NOW], "subject": ["fragment:T1-006"], "fact": ["status"]}
    assert ines.post("/claims", body, said).status_code == 204
    assert at(store) == [("ines", "fragment:T1-006")]
    assert [one.session for one in read_claims(store)] == [one.session for one in list_sessions(store, "ines")]
    assert ines.post("/claims", body | {"subject": ["fragment:nobody"]}, said).status_code == 404
    assert ines.post("/claims/ended", body, said).status_code == 204
    assert at(store) == []
