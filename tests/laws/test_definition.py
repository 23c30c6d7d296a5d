"""The fold against the definition taken word by word (oracle.py), and exactly where the two part.

They part in one point. By the words, a question between A and B is settled by a ruling that sees *both*. In the fold a
ruling takes the place of every entry that it saw: from then on the ruling, and not the entry, is what others differ
from. So they part only where a ruling saw one of the two and not the other, and the fold is silent in three cases:

1. B comes late with the value that the ruling gave (A dead, ruled alive, B alive);
2. two rulings with one value saw one each;
3. the ruling's own author spoke again, having B in front of them.

In all else they are equal, and what the fold holds open is open by the words.
"""

from collections.abc import Iterator
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_schema.entries import RulingGiven
from shared_schema.envelope import BaseEntry
from shared_schema.fold import Slot, fold_group
from tests.laws.effort import FEWER, MORE
from tests.laws.histories import RANKS, one_group, one_slot, seasons
from tests.laws.oracle import Judgement, judge, members
from tests.laws.voices import fold, ruled, said


def both(entries: tuple[BaseEntry, ...]) -> Iterator[tuple[str, Slot, Judgement]]:
    """Each fact that is stated, as folded and as defined."""
    groups: dict[tuple[str, str], list[BaseEntry]] = {}
    for entry in entries:
        groups.setdefault(entry.group, []).append(entry)
    for several in groups.values():
        finding = fold_group(several)
        for fact in RANKS:
            judgement = judge(fact, several)
            assert (fact in finding.slots) == (judgement is not None)
            if judgement is not None:
                yield fact, finding.slots[fact], judgement


def check(fact: str, slot: Slot, judgement: Judgement) -> None:
    """What must hold between the two, whatever was said."""
    open_in_fold = judgement.unspoken()
    assert slot.heads == judgement.heads
    assert slot.disputed == members(open_in_fold)
    if not judgement.speaks_for:
        assert (slot.open, slot.value) == (bool(judgement.pairs), judgement.shown(fact))
    if open_in_fold:
        assert slot.value == max((judgement.values[one] for one in slot.disputed), key=RANKS[fact].index)
        assert not slot.ruled
    else:
        assert {slot.value} == {judgement.values[one] for one in slot.heads}
        assert slot.ruled == any(isinstance(judgement.standing[one], RulingGiven) for one in slot.heads)
        for pair in judgement.pairs:
            assert why_silent(pair, judgement)


def why_silent(pair: tuple[str, str], judgement: Judgement) -> set[int]:
    """Which of the three cases make the fold silent on a pair that disagrees by the words."""
    reasons = set()
    for one, other in (pair, pair[::-1]):
        rulings = {ruling for ruling, whom in judgement.speaks_for if whom == one}
        others = {ruling for ruling, whom in judgement.speaks_for if whom == other}
        assert not rulings & others
        if any(judgement.values[ruling] == judgement.values[other] for ruling in rulings):
            reasons.add(1)
        if rulings and others:
            reasons.add(2)
        later = {who for who, whom in judgement.sees if who in judgement.standing and whom in rulings}
        if any(judgement.standing[who].by == judgement.standing[ruling].by for who in later for ruling in rulings):
            reasons.add(3)
    return reasons


@given(entries=st.one_of(one_slot(), one_slot(), one_group()))
@MORE
def test_the_fold_is_the_definition_for_whatever_could_be_written(entries: tuple[BaseEntry, ...]) -> None:
    """Circles, missing entries, foreign withdrawals and all."""
    for fact, slot, judgement in both(entries):
        check(fact, slot, judgement)


@given(entries=seasons())
@FEWER
def test_the_fold_is_the_definition_for_what_crews_write(entries: tuple[BaseEntry, ...]) -> None:
    """In seasons of crews who exchange now and then."""
    for fact, slot, judgement in both(entries):
        check(fact, slot, judgement)


def test_the_fold_is_the_definition_for_every_set_of_three_statements() -> None:
    """All of them: two authors, the third statement a ruling or not, three values, each replacing any of the others."""
    first, second, third = ids = ("k7f3qz-1", "m2w8rd-1", "office2ab4-1")
    choices: dict[str, list[BaseEntry]] = {one: [] for one in ids}
    for one, value, by in product(ids, ("alive", "sick", "dead"), ("anna", "ben")):
        others = [other for other in ids if other != one]
        for replaces in ([], others[:1], others[1:], others):
            choices[one].append(said(one, by, replaces, status=value))
            if one == third:
                choices[one].append(ruled(one, by, value, replaces))
    by_anna = [entry for entry in choices[first] if entry.by == "anna"]  # the names may be swapped
    for entries in product(by_anna, choices[second], choices[third]):
        check("status", *_status(entries))


def _status(entries: tuple[BaseEntry, ...]) -> tuple[Slot, Judgement]:
    judgement = judge("status", entries)
    assert judgement is not None
    return fold_group(entries).slots["status"], judgement


A = said("k7f3qz-1", "anna", status="dead")
RULED_ALIVE = ruled("office2ab4-1", "vera", "alive", [A.id])
LATE_ALIVE = said("m2w8rd-1", "ben", status="alive")

PARTINGS = {
    "a late entry with the ruling's value": (1, [A, RULED_ALIVE, LATE_ALIVE]),
    "a late entry with the value of the ruling's successor": (
        1,
        [
            A,
            ruled("office2ab4-1", "vera", "sick", [A.id]),
            ruled("office9xy3-1", "wim", "alive", ["office2ab4-1"]),
            LATE_ALIVE,
        ],
    ),
    "two rulings with one value that saw one entry each": (
        2,
        [
            A,
            said("m2w8rd-1", "ben", status="fading"),
            RULED_ALIVE,
            ruled("office9xy3-1", "wim", "alive", ["m2w8rd-1"]),
        ],
    ),
    "a supervisor who dives after the ruling with the late entry in front": (
        3,
        [
            A,
            RULED_ALIVE,
            said("m2w8rd-1", "ben", status="sick"),
            said("k7f3qz-2", "vera", ["office2ab4-1", "m2w8rd-1"], status="sick"),
        ],
    ),
}


@pytest.mark.parametrize("case", PARTINGS)
def test_the_fold_is_silent_where_a_ruling_speaks_for_what_it_saw(case: str) -> None:
    """Open by the words, settled in the fold, and for the reason given."""
    reason, entries = PARTINGS[case]
    slot, judgement = _status(tuple(entries))
    assert not slot.open
    assert {reason} in [why_silent(pair, judgement) for pair in judgement.pairs]


def test_a_ruled_over_entry_is_no_party_to_a_question_that_opens_again() -> None:
    """Where a late value opens a ruling, the fold asks between the two, and shows nothing that was ruled over."""
    slot, judgement = _status((A, RULED_ALIVE, said("m2w8rd-1", "ben", status="fading")))
    assert judgement.disputed == ("k7f3qz-1", "m2w8rd-1", "office2ab4-1")
    assert judgement.shown("status") == "dead"
    assert slot.disputed == ("m2w8rd-1", "office2ab4-1")
    assert slot.value == "fading"


@given(entries=one_group(7), data=st.data())
@FEWER
def test_without_rulings_the_fold_and_the_definition_are_one(entries: tuple[BaseEntry, ...], data: st.DataObject) -> None:
    """Open, shown value, parties and heads are equal, none excepted."""
    fact = data.draw(st.sampled_from(tuple(RANKS)))
    plain = tuple(entry for entry in entries if not isinstance(entry, RulingGiven))
    judgement = judge(fact, plain)
    if judgement is not None:
        slot = fold(*plain).slots[fact]
        assert (slot.open, slot.disputed, slot.heads) == (bool(judgement.pairs), judgement.disputed, judgement.heads)
        assert slot.value == judgement.shown(fact)
