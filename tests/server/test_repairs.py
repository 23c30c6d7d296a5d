"""Every sort of discrepancy has repairs: each makes it go away, writes what it showed, and is taken back as one."""

import pytest

from server.review.cases import Case, read_case
from server.review.corrections import read_correction, take_correction_back
from server.review.discrepancies import list_discrepancies
from server.review.drafts import Draft, draft, write_draft
from server.review.repairs import Repair, repair_named, repairs_of
from server.store.checking import check_record
from server.store.record import RecordStore
from shared_schema.discrepancies import SORTS, Discrepancy
from shared_schema.entries import RulingGiven
from shared_schema.errors import NotAllowed, NothingSuch, RecordError, SchemaError
from tests.server.conftest import Nursery
from tests.server.crooked import CROOKED, GIVEN, Crew, settle_in
from tests.server.small_nursery import NOW


def the_case(store: RecordStore, what: str) -> Case:
    """The case of a crooked record, at the address of its discrepancy."""
    sort, _, names, _ = CROOKED[what]
    (found,) = [one for one in list_discrepancies(store) if one.sort == sort and one.subjects == subjects(names)]
    return read_case(store, found.sort, found.survey, names.split(","))


def subjects(names: str) -> tuple[str, ...]:
    """The subjects of fragments that are named with commas between."""
    return tuple(f"fragment:{name}" for name in names.split(","))


def crooked(store: RecordStore, what: str) -> tuple[Crew, Case]:
    """A record in which something does not add up, and the case of that."""
    crew = settle_in(store)
    CROOKED[what][1](crew)
    crew.back()
    return crew, the_case(store, what)


def drafted(store: RecordStore, case: Case, repair: Repair) -> Draft:
    """What a repair would write, with something given where it asks."""
    given = "" if repair.asks is None else GIVEN[repair.asks]
    return draft(store, repair.plan(given), case.discrepancy.subjects, case.rests_on)


def mend(store: RecordStore, case: Case, repair: Repair, shown: Draft | None = None) -> str:
    """Do a repair as a page does that showed this; gives the correction's name."""
    address = (case.discrepancy.sort, case.discrepancy.survey, case.names)

    def anew() -> Draft:
        present = read_case(store, *address)
        return drafted(store, present, repair_named(store, present, repair.key))

    return write_draft(store, "ines", anew, (shown or drafted(store, case, repair)).seal, "we looked at the photos")


def test_every_sort_is_made_here() -> None:
    """No sort of discrepancy is without a record that shows it."""
    assert {sort for sort, *_ in CROOKED.values()} == set(SORTS)


@pytest.mark.parametrize("what", CROOKED)
def test_every_repair_puts_it_right_and_is_taken_back_as_one(lite: Nursery, what: str) -> None:
    """The preview said so before; what was written is what it showed; afterwards the record is as crooked as it was."""
    _, store = lite
    _, case = crooked(store, what)
    before = list_discrepancies(store)
    repairs = repairs_of(store, case)
    assert {one.way for one in repairs} == CROOKED[what][3]
    assert len({one.key for one in repairs}) == len(repairs)
    for number in range(len(repairs)):
        case = read_case(store, case.discrepancy.sort, case.discrepancy.survey, case.names)  # the page is loaded again
        repair = repair_named(store, case, repairs[number].key)
        shown = drafted(store, case, repair)
        name = mend(store, case, repair, shown)
        done = read_correction(store, name)
        assert done.reason == "we looked at the photos"
        assert [one.subject for one in done.entries] == [one.step.subject for one in shown.planned], repair.key
        assert [one.replaces for one in done.entries] == [one.shown for one in shown.planned], repair.key
        now = list_discrepancies(store)
        concerned = [one for one in now if any(subject in shown.after.standings for subject in one.subjects)]
        assert concerned == [one for one in shown.after.discrepancies if one in now], repair.key
        after = read_case(store, case.discrepancy.sort, case.discrepancy.survey, case.names)
        if repair.way == "left":
            assert after.stands
            assert after.left is not None
            assert after.left.reason == "we looked at the photos"
        else:
            assert not after.stands, repair.key
            assert case.discrepancy in shown.gone, repair.key
        assert name in [one.name for one in after.done], repair.key
        assert take_correction_back(store, "ines", name) == len(done.entries)
        assert list_discrepancies(store) == before, repair.key
        assert read_correction(store, name).standing == ()
    assert check_record(store).wrong == ()


@pytest.mark.parametrize("what", ["two in one place", "dead then alive", "never planted"])
def test_a_repair_does_not_cover_what_came_meanwhile(lite: Nursery, what: str) -> None:
    """A tablet brings another word about the same coral while the supervisor looks: nothing is written."""
    _, store = lite
    crew, case = crooked(store, what)
    repair = repairs_of(store, case)[0]
    seal = drafted(store, case, repair).seal
    name = case.names[0]
    crew.sees(crew.ana, name, "lost", "T1/1.1.1")
    crew.moves(crew.ana, name, "L1/1.7")
    crew.back()
    before = store.heads()

    def anew() -> Draft:
        present = read_case(store, case.discrepancy.sort, case.discrepancy.survey, case.names)
        return drafted(store, present, repair)

    with pytest.raises(RecordError, match="while you looked"):
        write_draft(store, "ines", anew, seal, "seen on the photo")
    assert store.heads() == before


def test_a_position_that_was_taken_meanwhile_is_not_filled_twice(lite: Nursery) -> None:
    """The entries that a repair replaces are the same, and what would stand afterwards is not."""
    _, store = lite
    crew, case = crooked(store, "two in one place")
    repair = next(one for one in repairs_of(store, case) if one.way == "hangs_elsewhere")
    seal = drafted(store, case, repair).seal
    crew.plants(crew.ben, "N9", GIVEN["place"])
    crew.back()
    with pytest.raises(RecordError, match="while you looked"):
        write_draft(store, "ines", lambda: drafted(store, case, repair), seal, "seen on the photo")
    assert [one.sort for one in drafted(store, case, repair).new] == ["two_in_one_place"]


def test_what_comes_after_a_repair_without_having_seen_it_is_asked_about(lite: Nursery) -> None:
    """A tablet that was away says otherwise: the place is in question, and nothing was overridden."""
    _, store = lite
    crew, case = crooked(store, "two in one place")
    mend(store, case, next(one for one in repairs_of(store, case) if one.way == "never_came"))
    crew.moves(crew.ana, "F2", "L1/1.7")
    crew.back()
    assert store.finding(NOW, "fragment:F2").open == ("place",)


def test_what_was_left_as_it_is_asks_again_when_something_changes(lite: Nursery) -> None:
    """A third one in the same position is another matter, and so is another genet."""
    _, store = lite
    crew, case = crooked(store, "two in one place")
    mend(store, case, repairs_of(store, case)[-1])
    crew.moves(crew.ana, "F3", "T1/1.1.1")
    crew.back()
    (found,) = list_discrepancies(store)
    assert found.subjects == subjects("F1,F2,F3")
    assert read_case(store, found.sort, found.survey, ["F1", "F2", "F3"]).left is None


def test_settling_a_dispute_is_not_taken_for_leaving_it(lite: Nursery) -> None:
    """A ruling between two who disagree says which holds, and not that what does not add up is right."""
    _, store = lite
    _, case = crooked(store, "moved to two places")
    repair = repairs_of(store, case)[0]
    mend(store, case, repair)
    assert all(one.confirmed is None for one in read_case(store, "one_in_two_places", NOW, ["F1"]).evidence)


def test_only_who_made_a_repair_takes_it_back(lite: Nursery) -> None:
    """Somebody else corrects it anew; and nothing is written without a reason."""
    _, store = lite
    _, case = crooked(store, "seen elsewhere")
    repair = repairs_of(store, case)[0]
    with pytest.raises(SchemaError, match="No reason"):
        write_draft(store, "ines", lambda: drafted(store, case, repair), drafted(store, case, repair).seal, "  ")
    name = mend(store, case, repair)
    with pytest.raises(NotAllowed):
        take_correction_back(store, "otto", name)
    assert take_correction_back(store, "ines", name) == 1
    assert take_correction_back(store, "ines", name) == 0


@pytest.mark.parametrize(("what", "way"), [("tag twice", "other_tag"), ("unknown genet", "genet_registered")])
def test_a_repair_is_the_same_on_every_database(nursery: Nursery, what: str, way: str) -> None:
    """What is foreseen, what is written, and what is taken back."""
    _, store = nursery
    _, case = crooked(store, what)
    before = list_discrepancies(store)
    name = mend(store, case, next(one for one in repairs_of(store, case) if one.way == way))
    assert list_discrepancies(store) == []
    take_correction_back(store, "ines", name)
    assert list_discrepancies(store) == before


def test_the_swap_gives_each_the_others_position(lite: Nursery) -> None:
    """Of two that were swapped each hangs where the other did."""
    _, store = lite
    _, case = crooked(store, "seen where another hangs")
    mend(store, case, next(one for one in repairs_of(store, case) if one.way == "swapped"))
    assert [store.standing(f"fragment:F{number}").value("place") for number in (1, 2)] == ["T1/1.1.2", "T1/1.1.1"]


def test_unknown_cases_and_corrections_are_said_to_be(lite: Nursery) -> None:
    """Whatever an address may hold."""
    _, store = lite
    settle_in(store)
    for sort, names in (("what", ["F1"]), ("tag_twice", []), ("tag_twice", ["F1", "none"])):
        with pytest.raises(NothingSuch):
            read_case(store, sort, "", names)
    for name in ("", "x", "a-b-c", "office-1-1", f"office-{'9' * 40}-1"):
        with pytest.raises(NothingSuch):
            read_correction(store, name)
    assert not read_case(store, "two_in_one_place", "", ["F1", "F2"]).stands


def test_discrepancies_of_one_dispute_are_those_of_the_record(lite: Nursery) -> None:
    """What a draft foresees of those whom it touches is what the record says once it is written."""
    _, store = lite
    _, case = crooked(store, "unknown position")
    repair = next(one for one in repairs_of(store, case) if one.way == "hangs_elsewhere")
    shown = draft(store, repair.plan("T1/1.1.2"), case.discrepancy.subjects)
    with store.office("ines") as office:
        for one in shown.planned:
            step = one.step
            office.write(RulingGiven, step.subject, step.survey, fact=step.fact, value=step.value, replaces=one.shown)
    found: list[Discrepancy] = list_discrepancies(store)
    assert list(shown.after.discrepancies) == found
    assert [one.sort for one in shown.new] == ["two_in_one_place"]
