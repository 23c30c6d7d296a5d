"""How a question between two who did not know of each other opens, stays, is settled, and opens again."""

from itertools import permutations
from typing import Any, Final

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from shared_schema.envelope import BaseEntry
from shared_schema.fold import fold_group
from tests.laws.effort import FEWER
from tests.laws.histories import LATECOMERS, PEOPLE, RANKS, facts_told, one_group, one_slot, seasons
from tests.laws.oracle import judge
from tests.laws.voices import fold, ruled, said, status_of, took_back

LATE, LATER, RULING, SECOND_RULING = LATECOMERS
values: Final = st.sampled_from(RANKS["status"])
history: Final = st.one_of(one_group(), one_slot())


def test_two_who_did_not_know_of_each_other_disagree() -> None:
    """The slot is open and shows, marked, what calls for more attention; both stay visible."""
    slot = status_of(said("k7f3qz-1", "anna", status="dead"), said("m2w8rd-1", "ben", status="alive"))
    assert slot.open
    assert slot.value == "dead"
    assert slot.disputed == slot.heads == ("k7f3qz-1", "m2w8rd-1")


def test_who_had_the_other_entry_in_front_of_them_updates_it() -> None:
    """Finding alive what was entered as lost is news and no contradiction."""
    slot = status_of(said("k7f3qz-1", "anna", status="lost"), said("m2w8rd-1", "ben", ["k7f3qz-1"], status="alive"))
    assert (slot.open, slot.value, slot.heads) == (False, "alive", ("m2w8rd-1",))


def test_two_who_say_the_same_agree() -> None:
    """Two tablets that found the same need no ruling."""
    slot = status_of(said("k7f3qz-1", "anna", status="sick"), said("m2w8rd-1", "ben", status="sick"))
    assert (slot.open, slot.value, slot.heads) == (False, "sick", ("k7f3qz-1", "m2w8rd-1"))


def test_one_person_who_says_two_things_on_two_tablets_is_asked() -> None:
    """An author corrects what they had in front of them, not what they had forgotten on another tablet."""
    slot = status_of(said("k7f3qz-1", "anna", status="dead"), said("m2w8rd-1", "anna", status="alive"))
    assert slot.open


def test_a_contradiction_is_not_lost_behind_heads_that_agree() -> None:
    """A says lost, B who saw it says alive, C who saw neither says alive: A and C were never brought together."""
    slot = status_of(
        said("k7f3qz-1", "anna", status="lost"),
        said("m2w8rd-1", "ben", ["k7f3qz-1"], status="alive"),
        said("t9hb4c-1", "chai", status="alive"),
    )
    assert slot.heads == ("m2w8rd-1", "t9hb4c-1")
    assert slot.disputed == ("k7f3qz-1", "t9hb4c-1")
    assert slot.value == "lost"


@given(entries=history, told=facts_told, data=st.data())
@FEWER
def test_another_voice_that_saw_everything_keeps_the_question_open(
    entries: tuple[BaseEntry, ...], told: dict[str, Any], data: st.DataObject
) -> None:
    """Only a ruling or the authors themselves settle a question: a third opinion is one more opinion."""
    before = fold_group(entries)
    known = data.draw(st.lists(st.sampled_from([one.id for one in entries])) | st.just([one.id for one in entries]))
    after = fold_group([*entries, said(LATE, "dora", known, **told)])
    for fact in before.open:
        assert after.slots[fact].open
        assert set(before.slots[fact].disputed) <= set(after.slots[fact].disputed)


@given(entries=history, fact=st.sampled_from(tuple(RANKS)), by=st.sampled_from(PEOPLE), data=st.data())
@FEWER
def test_a_ruling_that_saw_all_closes(entries: tuple[BaseEntry, ...], fact: str, by: str, data: st.DataObject) -> None:
    """Having the heads in front of them is enough: whatever stands is a head or seen by one."""
    slot = fold_group(entries).slots.get(fact)
    assume(slot is not None)
    assert slot is not None
    value = data.draw(st.sampled_from(RANKS[fact]))
    closed = fold_group([*entries, ruled(RULING, by, value, slot.heads, fact=fact)]).slots[fact]
    assert (closed.open, closed.value, closed.ruled, closed.heads) == (False, value, True, (RULING,))


@given(entries=history, value=values, by=st.sampled_from(PEOPLE), data=st.data())
@FEWER
def test_what_comes_late_opens_a_ruled_question_only_with_another_value(
    entries: tuple[BaseEntry, ...], value: str, by: str, data: st.DataObject
) -> None:
    """A tablet that knew nothing of the ruling and found what it says confirms it; what differs is asked again."""
    slot = fold_group(entries).slots.get("status")
    known = data.draw(st.lists(st.sampled_from([one.id for one in entries])))
    ruling = ruled(RULING, "vera", "fading", slot.heads if slot else ())
    late = said(LATE, by, known, status=value)
    after = fold_group([*entries, ruling, late]).slots["status"]
    assert after.open == (value != "fading")
    if after.open:
        assert after.disputed == tuple(sorted([LATE, RULING]))
        assert after.value == max(value, "fading", key=RANKS["status"].index)
    else:
        assert (after.value, after.ruled) == ("fading", True)


@given(entries=history, value=values)
@FEWER
def test_who_saw_the_ruling_updates_it(entries: tuple[BaseEntry, ...], value: str) -> None:
    """A dive after the ruling, with the ruling on the tablet, is news."""
    slot = fold_group(entries).slots.get("status")
    ruling = ruled(RULING, "vera", "sick", slot.heads if slot else ())
    after = fold_group([*entries, ruling, said(LATE, "dora", [RULING], status=value)]).slots["status"]
    assert (after.open, after.value, after.ruled, after.heads) == (False, value, False, (LATE,))


@given(entries=history, value=values, other=values)
@FEWER
def test_two_supervisors_who_did_not_know_of_each_other_disagree_like_anybody(
    entries: tuple[BaseEntry, ...], value: str, other: str
) -> None:
    """Two rulings on one question agree, or are a question themselves."""
    slot = fold_group(entries).slots.get("status")
    heads = slot.heads if slot else ()
    rulings = [ruled(RULING, "vera", value, heads), ruled(SECOND_RULING, "wim", other, heads)]
    after = fold_group([*entries, *rulings]).slots["status"]
    assert after.open == (value != other)
    assert after.disputed == ((RULING, SECOND_RULING) if after.open else ())


@given(entries=history, fact=st.sampled_from(tuple(RANKS)), data=st.data())
@FEWER
def test_taking_a_ruling_back_brings_the_question_back(entries: tuple[BaseEntry, ...], fact: str, data: st.DataObject) -> None:
    """A ruling that its supervisor withdrew is as if never given."""
    before = fold_group(entries)
    value = data.draw(st.sampled_from(RANKS[fact]))
    ruling = ruled(RULING, "vera", value, [one.id for one in entries], fact=fact)
    assert fold_group([*entries, ruling, took_back(LATE, "vera", RULING)]).slots == before.slots


def test_nobody_takes_back_what_another_said() -> None:
    """A withdrawal by somebody else has no effect, and is listed for that."""
    ruling = ruled(RULING, "vera", "alive", ["k7f3qz-1", "m2w8rd-1"])
    finding = fold(
        said("k7f3qz-1", "anna", status="dead"),
        said("m2w8rd-1", "ben", status="alive"),
        ruling,
        took_back("officezzzz-2", "wim", RULING),
        took_back("m2w8rd-2", "ben", "k7f3qz-1"),
    )
    assert finding.idle == ("m2w8rd-2", "officezzzz-2")
    assert (finding.slots["status"].ruled, finding.open) == (True, ())


def test_a_withdrawal_is_not_taken_back() -> None:
    """Who wants a withdrawn entry back states it again."""
    finding = fold(
        said("k7f3qz-1", "anna"),
        took_back("k7f3qz-2", "anna", "k7f3qz-1"),
        took_back("k7f3qz-3", "anna", "k7f3qz-2"),
    )
    assert finding.slots == {}
    assert finding.idle == ("k7f3qz-3",)


def test_what_was_withdrawn_still_leads_to_what_it_replaced() -> None:
    """Chai had ben's entry in front of him, and with it what ben had: that ben took his back changes nothing there."""
    slot = status_of(
        said("k7f3qz-1", "anna", status="dead"),
        said("m2w8rd-1", "ben", ["k7f3qz-1"], status="sick"),
        said("t9hb4c-1", "chai", ["m2w8rd-1"], status="alive"),
        took_back("m2w8rd-2", "ben", "m2w8rd-1"),
    )
    assert (slot.open, slot.value, slot.heads) == (False, "alive", ("t9hb4c-1",))


def test_a_question_shows_none_but_the_values_in_dispute() -> None:
    """Two who saw the first entry and differ from each other: what both replaced is not shown again."""
    slot = status_of(
        said("k7f3qz-1", "anna", status="dead"),
        said("m2w8rd-1", "ben", ["k7f3qz-1"], status="alive"),
        said("t9hb4c-1", "chai", ["k7f3qz-1"], status="fading"),
    )
    assert slot.disputed == ("m2w8rd-1", "t9hb4c-1")
    assert slot.value == "fading"


@given(entries=history, told=facts_told, by=st.sampled_from(PEOPLE), data=st.data())
@FEWER
def test_withdrawing_a_correction_brings_back_what_it_replaced(
    entries: tuple[BaseEntry, ...], told: dict[str, Any], by: str, data: st.DataObject
) -> None:
    """Whoever says something and takes it back leaves everything as it was."""
    known = data.draw(st.lists(st.sampled_from([one.id for one in entries])))
    correction = said(LATE, by, known, **told)
    after = fold_group([*entries, correction, took_back(LATER, by, LATE)])
    assert after.slots == fold_group(entries).slots


@pytest.mark.parametrize("seen", [["k7f3qz-1"], ["k7f3qz-1", "m2w8rd-1"]])
def test_an_authors_own_correction_closes(seen: list[str]) -> None:
    """Anna looks again and says what ben says; whether she had his entry in front of her makes no difference."""
    entries = [
        said("k7f3qz-1", "anna", status="dead"),
        said("m2w8rd-1", "ben", status="alive"),
        said("k7f3qz-2", "anna", seen, status="alive"),
    ]
    for order in permutations(entries):
        slot = status_of(*order)
        assert (slot.open, slot.value) == (False, "alive")


def test_an_authors_correction_to_a_third_value_leaves_the_question() -> None:
    """Anna corrects herself without knowing of ben: they still differ, now in her last word."""
    slot = status_of(
        said("k7f3qz-1", "anna", status="dead"),
        said("m2w8rd-1", "ben", status="alive"),
        said("k7f3qz-2", "anna", ["k7f3qz-1"], status="sick"),
    )
    assert slot.disputed == ("k7f3qz-2", "m2w8rd-1")
    assert slot.value == "sick"


@given(told=st.lists(values, min_size=2, max_size=5), data=st.data())
@FEWER
def test_authors_who_all_correct_to_one_value_need_no_ruling(told: list[str], data: st.DataObject) -> None:
    """However many differed, in whatever order their corrections arrive."""
    first = [said(f"k7f3qz-{n}", f"p{n}", status=value) for n, value in enumerate(told, start=1)]
    again = [said(f"m2w8rd-{n}", one.by, [one.id], status=told[0]) for n, one in enumerate(first[1:], start=1)]
    slot = status_of(*data.draw(st.permutations([*first, *again])))
    assert (slot.open, slot.value) == (False, told[0])


@given(entries=seasons())
@FEWER
def test_only_a_ruling_or_somebody_in_the_dispute_ever_settles_it(entries: tuple[BaseEntry, ...]) -> None:
    """Through a whole season of crews who exchange now and then, no question disappears by itself."""
    by_id = {entry.id: entry for entry in entries}
    for count in range(1, len(entries)):
        new, known = entries[count], [one for one in entries[:count] if one.group == entries[count].group]
        before = fold_group(known) if known else None
        after = fold_group([*known, new])
        for fact in before.open if before else ():
            settled = fact not in after.slots or not after.slots[fact].open
            parties = {by_id[one].by for one in before.slots[fact].disputed} if before else set()
            assert not settled or type(new).__name__ == "RulingGiven" or new.by in parties


@given(entries=seasons())
@FEWER
def test_crews_who_name_what_they_see_leave_nothing_missing_or_idle(entries: tuple[BaseEntry, ...]) -> None:
    """What honest tablets write holds together; and whoever wrote last with everything in front is the head."""
    for group in {entry.group for entry in entries}:
        finding = fold_group([entry for entry in entries if entry.group == group])
        assert (finding.missing, finding.idle) == ((), ())


def test_entries_that_replace_one_another_in_a_circle_are_a_question() -> None:
    """What a damaged tablet wrote in a circle counts as said without sight of each other, until somebody rules."""
    circle = [
        said("k7f3qz-1", "anna", ["m2w8rd-1"], status="alive"),
        said("m2w8rd-1", "ben", ["k7f3qz-1"], status="dead"),
    ]
    assert status_of(*circle).disputed == ("k7f3qz-1", "m2w8rd-1")
    assert not status_of(*circle, ruled(RULING, "vera", "dead", ["k7f3qz-1"])).open


@given(entries=history)
@FEWER
def test_an_entry_that_replaces_itself_says_what_it_says_without(entries: tuple[BaseEntry, ...]) -> None:
    """A nonsensical self-reference has no effect."""
    selfish = [entry.model_copy(update={"replaces": (*entry.replaces, entry.id)}) for entry in entries]
    assert fold_group(selfish) == fold_group(entries)
    assert judge("status", selfish) is None or "status" in fold_group(selfish).slots
