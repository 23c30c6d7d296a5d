"""What does not add up across slots: each sort is found where it is, and not where it is not."""

from collections.abc import Iterable, Iterator
from typing import Final, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_schema.designs import Design
from shared_schema.discrepancies import SORTS, Discrepancy, Sort, find_discrepancies, hanging
from shared_schema.entries import EntryWithdrawn, NoteMade
from shared_schema.envelope import BaseEntry
from shared_schema.fold import Record
from shared_schema.ids import tag_code
from tests.shared_schema.crew import DESIGNS, FIRST, SECOND, THIRD, Crew

TAG: Final = tag_code(77)


def found(entries: Iterable[BaseEntry], designs: dict[str, Design] | None = None) -> list[Discrepancy]:
    """What does not add up in a record of these entries."""
    record = Record()
    record.add(entries)
    return find_discrepancies(record, DESIGNS if designs is None else designs)


def sorts(crew: Crew) -> set[Sort]:
    """The sorts of what is found."""
    return {one.sort for one in found(crew.entries)}


@pytest.fixture
def crew() -> Crew:
    """Nothing said yet."""
    return Crew()


def test_every_sort_is_explained() -> None:
    """Pages print a sentence for each."""
    assert SORTS.keys() == set(get_args(Sort))


def test_a_record_that_adds_up_has_no_discrepancy(crew: Crew) -> None:
    """A founder, its cutting, a registered genet, a tag each, looked at where they hang."""
    crew.registers("G1")
    crew.plants("A", genet="G1", donor="reef 3", tag=TAG)
    crew.plants("B", SECOND, genet="G1", parent="A", tag=tag_code(78))
    crew.sees("A", seen_at=f"L1/{FIRST}")
    crew.sees("B", "2026-03", seen_at=f"L1/{SECOND}", status="dead")
    assert found(crew.entries) == []
    assert found([]) == []


def test_two_fragments_in_one_position_are_found_whatever_surveys_said_so(crew: Crew) -> None:
    """The detail names both, and the place."""
    crew.plants("A")
    crew.plants("B", SECOND)
    crew.moves("B", f"L1/{FIRST}", "2026-05")
    (one,) = found(crew.entries)
    assert (one.sort, one.subjects) == ("two_in_one_place", ("fragment:A", "fragment:B"))
    assert one.detail == f"A and B both hang at L1/{FIRST}"


@pytest.mark.parametrize("place", ["ground", "holding", "removed", "site:reef-3", f"L1/{THIRD}"])
def test_who_left_a_position_leaves_it_free(crew: Crew, place: str) -> None:
    """Moved on, outplanted or taken out: the next one hangs there rightly; and off the structures there is room for many."""
    for name in ("A", "B"):
        crew.plants(name, FIRST)
    crew.moves("A", place)
    assert sorts(crew) == set()
    if "/" not in place:
        crew.moves("B", place)
        assert sorts(crew) == set()


def test_a_lost_fragment_frees_its_position_until_it_is_hung_again(crew: Crew) -> None:
    """Lost when last looked for is not there; hung anew in a later survey it is; dead in place still hangs."""
    crew.plants("A")
    crew.sees("A", "2026-02", status="lost")
    crew.plants("B", FIRST, "2026-03")
    assert sorts(crew) == set()
    crew.moves("A", f"L1/{FIRST}", "2026-04")
    assert sorts(crew) == {"two_in_one_place"}
    crew.moves("A", f"L1/{SECOND}", "2026-05")
    crew.sees("A", "2026-06", status="dead")
    crew.plants("C", SECOND, "2026-07")
    assert sorts(crew) == {"two_in_one_place"}


def test_one_fragment_said_to_be_in_two_places_is_found_until_somebody_rules(crew: Crew) -> None:
    """Two crews who moved it without knowing of each other."""
    crew.plants("A")
    one, other = crew.moves("A", f"L1/{SECOND}"), crew.moves("A", "ground")
    (only,) = found(crew.entries)
    assert (only.sort, only.subjects, only.survey) == ("one_in_two_places", ("fragment:A",), "2026-02")
    crew.rules("A", "place", "ground", "2026-02", one, other)
    assert sorts(crew) == set()


def test_a_fragment_seen_where_it_does_not_hang_is_found(crew: Crew) -> None:
    """Seen elsewhere in a later survey than it was hung; once it is entered as moved, all adds up."""
    crew.plants("A")
    crew.sees("A", "2026-02", seen_at=f"L1/{SECOND}")
    (one,) = found(crew.entries)
    assert (one.sort, one.survey) == ("one_in_two_places", "2026-02")
    assert one.detail == f"A hangs at L1/{FIRST} and was seen at L1/{SECOND}"
    crew.moves("A", f"L1/{SECOND}", "2026-03")
    assert sorts(crew) == set()


def test_a_fragment_seen_before_it_was_moved_is_no_discrepancy(crew: Crew) -> None:
    """What an earlier survey saw was true then."""
    crew.plants("A")
    crew.sees("A", "2026-02", seen_at=f"L1/{FIRST}")
    crew.moves("A", f"L1/{SECOND}", "2026-03")
    assert sorts(crew) == set()


@pytest.mark.parametrize(
    ("status", "rises"),
    [("alive", True), ("bleached", True), ("sick", True), ("could_not_tell", False), ("lost", False), ("dead", False)],
)
def test_dead_in_place_and_alive_later_is_found(crew: Crew, status: str, rises: bool) -> None:
    """One of the two surveys was mistaken, or looked at another coral."""
    crew.plants("A")
    crew.sees("A", "2026-02", status="dead")
    crew.sees("A", "2026-04", status=status)
    assert sorts(crew) == ({"dead_then_alive"} if rises else set())
    if rises:
        (one,) = found(crew.entries)
        assert (one.survey, one.detail) == ("2026-04", f"A was dead in 2026-02 and {status} in 2026-04")


@pytest.mark.parametrize("status", ["alive", "lost"])
def test_lost_and_found_again_is_no_resurrection(crew: Crew, status: str) -> None:
    """Not found is not dead, and alive before dead is the way of things."""
    crew.plants("A")
    crew.sees("A", "2026-02", status="lost")
    crew.sees("A", "2026-03", status=status)
    crew.sees("A", "2026-04", status="dead")
    assert sorts(crew) == set()


def test_a_resurrection_is_found_across_surveys_that_could_not_tell_and_each_time(crew: Crew) -> None:
    """Dead, not told, alive, dead, alive: two discrepancies."""
    crew.plants("A")
    for month, status in enumerate(("dead", "could_not_tell", "alive", "fading", "dead", "sick"), start=2):
        crew.sees("A", f"2026-{month:02}", status=status)
    assert [(one.sort, one.survey) for one in found(crew.entries)] == [
        ("dead_then_alive", "2026-04"),
        ("dead_then_alive", "2026-07"),
    ]


def test_a_ruling_that_it_was_not_dead_settles_it(crew: Crew) -> None:
    """The supervisor corrects the survey that was mistaken."""
    crew.plants("A")
    dead = crew.sees("A", "2026-02", status="dead")
    crew.sees("A", "2026-03", status="alive")
    crew.rules("A", "status", "fading", "2026-02", dead)
    assert sorts(crew) == set()


def test_a_genet_that_nobody_registered_is_found_until_it_is(crew: Crew) -> None:
    """A slip in the genet's name, or a registration still on another tablet."""
    crew.plants("A", genet="G1")
    (one,) = found(crew.entries)
    assert (one.sort, one.detail) == ("unknown_genet", "A is of genet G1, which nobody registered")
    crew.registers("G1")
    assert sorts(crew) == set()


def test_a_parent_that_is_not_in_the_record_is_found_until_it_is(crew: Crew) -> None:
    """It may be on a tablet that has not synced."""
    crew.plants("B", SECOND, parent="A")
    (one,) = found(crew.entries)
    assert (one.sort, one.subjects) == ("unknown_parent", ("fragment:B",))
    crew.plants("A")
    assert sorts(crew) == set()


@pytest.mark.parametrize("length", [1, 2, 3])
def test_a_fragment_that_descends_from_itself_is_found(crew: Crew, length: int) -> None:
    """Each in the circle is named, and a fragment cut from one of them is not."""
    paths = [position.path for position in DESIGNS["L1"].positions]
    for number in range(length):
        crew.plants(f"A{number}", paths[number], parent=f"A{(number + 1) % length}")
    crew.plants("cutting", paths[length], parent="A0")
    discrepancies = found(crew.entries)
    assert {one.sort for one in discrepancies} == {"own_ancestor"}
    assert [one.subjects for one in discrepancies] == [(f"fragment:A{number}",) for number in range(length)]


@pytest.mark.parametrize(
    ("place", "words"), [("L1/9.99", "structure L1 has no position 9.99"), ("T9/1.1.1", "there is no structure T9")]
)
def test_a_place_that_no_structure_has_is_found(crew: Crew, place: str, words: str) -> None:
    """A slip in the address, or a structure that was never entered."""
    crew.plants("A", place=place)
    (one,) = found(crew.entries)
    assert (one.sort, one.detail) == ("unknown_position", f"{place}: {words}")


def test_a_structure_whose_name_has_marks_is_a_structure_like_any(crew: Crew) -> None:
    """A name in Thai, or with an umlaut in two characters, stops no page."""
    for number, name in enumerate(("กุ้ง", "A\u0308ste")):
        crew.plants(f"A{number}", place=f"{name}/{FIRST}")
    assert found(crew.entries, {"กุ้ง": DESIGNS["L1"], "A\u0308ste": DESIGNS["L1"]}) == []
    assert {one.sort for one in found(crew.entries)} == {"unknown_position"}


def test_a_fragment_that_was_seen_and_never_planted_is_found(crew: Crew) -> None:
    """Its planting may be on another tablet; and whoever was cut from it has an unknown parent."""
    crew.sees("A")
    crew.plants("B", parent="A")
    assert sorts(crew) == {"never_planted", "unknown_parent"}


def test_one_tag_on_two_fragments_in_the_water_is_found_however_it_was_spelled(crew: Crew) -> None:
    """Small letters and a dash more or less make no other tag; a tag without a check character counts as it is."""
    crew.plants("A", tag=TAG)
    crew.plants("B", SECOND)
    crew.reads("B", TAG.lower().replace("-", ""))
    (one,) = found(crew.entries)
    assert (one.sort, one.detail) == ("tag_twice", f"A and B both carry tag {TAG}")
    crew.reads("A", "blue 7", "2026-03")
    assert sorts(crew) == set()
    crew.reads("B", "blue 7", "2026-03")
    assert sorts(crew) == {"tag_twice"}


def test_a_tag_may_be_used_again_when_its_fragment_has_left_the_water(crew: Crew) -> None:
    """Outplanted corals take no tag with them into the next season's list."""
    crew.plants("A", tag=TAG)
    crew.moves("A", "site:reef-3")
    crew.plants("B", SECOND, "2026-03", tag=TAG)
    assert sorts(crew) == set()


def test_hanging_is_what_the_rules_need_of_a_fragment(crew: Crew) -> None:
    """Name, place, status, tag, and whether it is there."""
    crew.plants("A", tag=TAG)
    crew.sees("A", status="fading")
    record = Record()
    record.add(crew.entries)
    one = hanging(record.standings["fragment:A"])
    assert (one.fragment, one.place, one.status, one.tag, one.here) == ("A", f"L1/{FIRST}", "fading", TAG, True)


def muddled() -> Iterator[BaseEntry]:
    """A record in which nearly everything is wrong at once."""
    crew = Crew()
    crew.plants("A", genet="G1", tag=TAG, parent="B")
    crew.plants("B", genet="G2", tag=TAG, parent="A")
    crew.plants("C", "9.99", parent="ghost")
    crew.sees("D")
    crew.sees("A", "2026-02", status="dead", seen_at=f"L1/{THIRD}")
    crew.sees("A", "2026-03")
    crew.moves("C", f"L1/{SECOND}", "2026-04")
    crew.moves("C", "ground", "2026-04")
    yield from crew.entries


@given(order=st.permutations(list(muddled())))
def test_the_order_in_which_entries_came_changes_nothing(order: list[BaseEntry]) -> None:
    """The same list, in the same order, for everybody who holds the same entries."""
    everything = found(order)
    assert everything == found(muddled())
    assert everything == sorted(everything)
    assert {one.sort for one in everything} == SORTS.keys() - {"unknown_position"}


def test_a_note_on_a_name_registers_no_genet(crew: Crew) -> None:
    """Only an entry that names the genet does, and once that is withdrawn the genet is unknown again."""
    crew.plants("A", genet="G1")
    crew._say(NoteMade, "genet:G1", "", text="ask the laboratory")
    assert sorts(crew) == {"unknown_genet"}
    entered = crew.registers("G1")
    assert sorts(crew) == set()
    crew._say(EntryWithdrawn, "genet:G1", "", target=entered.id)
    assert sorts(crew) == {"unknown_genet"}
