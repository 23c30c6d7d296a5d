"""Whatever a person remembers of something finds it: a tag as it was read, a name, a place, a day."""

import pytest

from server.review.search import MOST, Found, search
from server.store.record import RecordStore
from shared_schema.entries import FragmentOutplanted, FragmentPlanted, GenetRegistered, TagChecked
from shared_schema.ids import tag_code
from tests.server.conftest import Nursery
from tests.server.running import running
from tests.server.small_nursery import NOW, fill
from tests.server.visitor import Visitor, texts

TAG = tag_code(0x1D0B)
"""With characters in it that people take for others."""


@pytest.fixture
def store(nursery: Nursery) -> RecordStore:
    """The small nursery: one coral with a printed tag, one with a tag of another sort, one on the reef."""
    _, store = nursery
    boats = fill(store)
    boats.ana.author.write(TagChecked, "fragment:T1-020", NOW, tag=TAG, tag_state="readable")
    boats.ana.author.write(TagChecked, "fragment:T1-021", NOW, tag="blue 7", tag_state="readable")
    boats.ana.author.write(FragmentOutplanted, "fragment:T1-022", NOW, place="site:north-ledge")
    boats.ana.back()
    with store.office("ines") as office:
        office.write(GenetRegistered, "genet:G2", name="Second", species="Acropora palmata", accession="AP-17", donor="Wall")
    return store


def hits(found: Found, sort: str) -> list[str]:
    """The names that were found of one sort."""
    return [hit.subject.partition(":")[2] for group in found.groups if group.sort == sort for hit in group.hits]


def mistaken(tag: str) -> list[str]:
    """Ways in which people type a printed tag."""
    alike = tag.replace("0", "O").replace("1", "I").replace("V", "U")
    return [tag, tag.lower(), alike, alike.lower(), tag.replace("1", "l"), tag.replace("-", ""), tag.replace("-", " "), f" {tag} "]


def test_a_printed_tag_is_found_however_it_was_typed(store: RecordStore) -> None:
    """Capitals, blanks and look-alikes are forgiven: the check character fits one tag alone."""
    assert {"0", "1"} & set(TAG), TAG
    for text in mistaken(TAG):
        assert hits(search(store, text), "tag") == ["T1-020"], text
        assert search(store, text).tag == TAG, text


def test_a_wrong_character_in_a_tag_is_said_to_be_wrong(store: RecordStore) -> None:
    """And finds no other coral."""
    wrong = TAG[:-1] + ("2" if TAG[-1] != "2" else "3")
    found = search(store, wrong)
    assert (found.groups, found.tag, found.misread) == ((), None, True)


def test_another_tag_is_found_by_its_letters_and_not_by_look_alikes(store: RecordStore) -> None:
    """It has no check character, so that nothing tells which of two was meant."""
    assert hits(search(store, "BLUE 7"), "tag") == ["T1-021"]
    assert hits(search(store, "b1ue 7"), "tag") == []


def test_genets_people_places_surveys_and_entries_are_found_by_what_people_call_them(store: RecordStore) -> None:
    """Each by a part of a name, and capitals do not matter."""
    for text, sort, names in (
        ("palmata", "genet", ["G2"]),
        ("ap-17", "genet", ["G2"]),
        ("first gen", "genet", ["G1"]),
        ("ben cr", "person", ["ben"]),
        ("MADE UP", "structure", ["B1", "L1", "T1"]),
        ("t1", "structure", ["T1"]),
        ("t1 3 2 4", "position", ["T1/3.2.4"]),
        ("T1/3.2.4", "position", ["T1/3.2.4"]),
        ("T1/9.9.9", "position", []),
        ("2026-11", "survey", ["2026-11"]),
        ("ledge", "site", ["north-ledge"]),
        ("t1-10", "fragment", ["T1-100"]),
    ):
        assert hits(search(store, text), sort) == names, text
    entry = next(one for one in store.entries_of(NOW, "fragment:T1-020") if one.entry is not None)
    assert hits(search(store, entry.id.upper()), "entry") == ["T1-020"]


def test_nothing_is_found_for_nothing_and_blanks(store: RecordStore) -> None:
    """Nor for signs that a database reads as any letter."""
    for text in ("", "   ", "%", "_", "%T1%", "no such thing"):
        assert search(store, text).groups == (), text


def test_the_exact_one_comes_first_and_many_are_cut_with_a_word(lite: Nursery) -> None:
    """More than MOST begin with it: the one that is called just so stands on top."""
    settings, store = lite
    fill(store)
    with store.office("ines") as office:
        for number in range(MOST + 5):
            office.write(FragmentPlanted, f"fragment:X{number}", place="ground")
        office.write(FragmentPlanted, "fragment:X", place="ground")
    found = search(store, "x")
    assert hits(found, "fragment")[:3] == ["X", "X0", "X1"]
    assert [group.more for group in found.groups if group.sort == "fragment"] == [True]
    with running(settings) as (url, _):
        visitor = Visitor(url, store)
        read = visitor.see("/search?q=t1-020")
        assert 'href="/fragments/T1-020"' in read
        assert f"only {MOST} are shown" in texts(visitor.see("/search?q=x"))
        assert "Nothing in the record is called that." in texts(visitor.see("/search?q=nothing+such"))
        assert "<script>" not in visitor.see("/search?q=<script>")
