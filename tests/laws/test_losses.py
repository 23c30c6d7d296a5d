"""Nothing that anybody said gets lost."""

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from shared_schema.entries import EntryWithdrawn
from shared_schema.envelope import BaseEntry
from shared_schema.fold import Record, fold_group
from tests.laws.effort import FEWER
from tests.laws.histories import LATECOMERS, RANKS, facts_told, one_group, only_notes, seasons, several_groups
from tests.laws.oracle import judge
from tests.laws.voices import GROUP, fold, noted, said, status_of, took_back


@given(entries=st.one_of(several_groups(), seasons()))
@FEWER
def test_every_entry_stays_in_the_record_and_in_its_group(entries: tuple[BaseEntry, ...]) -> None:
    """Withdrawn, ruled over, replaced: it can still be read."""
    record = Record()
    record.add(entries)
    assert record.entries == {entry.id: entry for entry in entries}
    assert {one for held in record.groups.values() for one in held} == record.entries.keys()


@given(entries=one_group())
def test_every_statement_is_a_head_or_seen_by_one_or_withdrawn(entries: tuple[BaseEntry, ...]) -> None:
    """There is no way out of sight but being replaced by what is in sight, or one's author taking it back."""
    finding = fold_group(entries)
    for fact in RANKS:
        judgement = judge(fact, entries)
        if judgement is None:
            assert fact not in finding.slots
            continue
        heads = finding.slots[fact].heads
        for one in judgement.standing:
            assert one in heads or any((head, one) in judgement.sees for head in heads)


@given(entries=one_group())
@FEWER
def test_a_slot_with_a_statement_that_stands_has_a_head(entries: tuple[BaseEntry, ...]) -> None:
    """Not even entries that replace one another in a circle leave a slot without a voice."""
    for slot in fold_group(entries).slots.values():
        assert slot.heads


@given(entries=one_group())
def test_a_head_with_another_value_than_the_one_shown_keeps_the_slot_open(entries: tuple[BaseEntry, ...]) -> None:
    """What nobody saw is never overridden: a settled slot shows what all its heads say."""
    finding = fold_group(entries)
    for fact in RANKS:
        judgement = judge(fact, entries)
        if judgement is not None:
            said_by_heads = {judgement.values[head] for head in judgement.heads}
            slot = finding.slots[fact]
            assert slot.open or said_by_heads == {slot.value}


@given(entries=one_group(), told=facts_told, by=st.sampled_from(("anna", "vera", "new")))
@FEWER
def test_what_comes_unseen_with_another_value_opens_the_slot(entries: tuple[BaseEntry, ...], told: dict[str, Any], by: str) -> None:
    """Somebody who knew of nothing differs from what is shown: that is a question, whatever went before."""
    before = fold_group(entries)
    after = fold_group([*entries, said(LATECOMERS[0], by, **told)])
    for fact, value in told.items():
        slot = before.slots.get(fact)
        if slot is None:
            assert after.value(fact) == value
        elif slot.value != value:
            assert after.slots[fact].open
            assert LATECOMERS[0] in after.slots[fact].disputed


@given(entries=one_group(), data=st.data())
@FEWER
def test_each_fact_folds_on_its_own(entries: tuple[BaseEntry, ...], data: st.DataObject) -> None:
    """Leaving out what was said of the other facts changes nothing for this one."""
    fact = data.draw(st.sampled_from(tuple(RANKS)))
    others = dict.fromkeys(name for name in RANKS if name != fact)
    alone = [
        one.model_copy(update={name: None for name in others if hasattr(one, name)})
        for one in entries
        if isinstance(one, EntryWithdrawn) or any(name == fact for name, _ in one.facts())
    ]
    whole = fold_group(entries).slots.get(fact)
    assert whole == (fold_group(alone).slots.get(fact) if alone else None)


def test_one_divers_status_and_anothers_live_tissue_do_not_disagree() -> None:
    """Two who looked at different things said nothing against each other."""
    finding = fold(said("k7f3qz-1", "anna", status="fading"), said("m2w8rd-1", "ben", live_tissue=80))
    assert finding.open == ()
    assert (finding.value("status"), finding.value("live_tissue")) == ("fading", 80)


def test_a_second_look_at_one_fact_leaves_the_others_standing() -> None:
    """Replacing an entry that states two facts with one that states one keeps the other fact."""
    both = said("k7f3qz-1", "anna", status="alive", live_tissue=100)
    finding = fold(both, said("k7f3qz-2", "anna", ["k7f3qz-1"], live_tissue=50))
    assert (finding.value("status"), finding.value("live_tissue")) == ("alive", 50)


def test_a_path_through_another_fact_is_no_sight() -> None:
    """Who named an entry about live tissue did not thereby have the status before it in front of them."""
    entries = (
        said("k7f3qz-1", "anna", status="alive"),
        said("m2w8rd-1", "ben", ["k7f3qz-1"], live_tissue=50),
        said("t9hb4c-1", "chai", ["m2w8rd-1"], status="dead"),
    )
    assert status_of(*entries).disputed == ("k7f3qz-1", "t9hb4c-1")


@given(entries=only_notes())
def test_a_log_counts_every_entry_until_its_own_author_replaces_or_withdraws_it(entries: tuple[BaseEntry, ...]) -> None:
    """That somebody else had a note in front of them does not make it uncounted."""
    slot = fold_group(entries).slots.get("note")
    judgement = judge("note", entries)
    if judgement is None:
        assert slot is None
        return
    by = {one: entry.by for one, entry in judgement.standing.items()}
    kept = {one for one in by if not any((other, one) in judgement.sees and by[other] == by[one] for other in by)}
    assert slot is not None
    assert set(slot.heads) == kept
    assert slot.value == [judgement.values[one] for one in slot.heads]
    assert not slot.open


def test_a_note_replaced_by_its_author_is_shown_once() -> None:
    """Correcting a slip in one's own note leaves one note."""
    finding = fold(
        noted("k7f3qz-1", "anna", text="tyre on arm 2"),
        noted("k7f3qz-2", "anna", ["k7f3qz-1"], text="tie on arm 2"),
        noted("m2w8rd-1", "ben", ["k7f3qz-1"], text="which arm?"),
    )
    assert [note["text"] for note in finding.value("note")] == ["tie on arm 2", "which arm?"]


def test_a_slot_whose_every_statement_was_withdrawn_is_as_if_never_stated() -> None:
    """Nobody says anything, so nothing is shown."""
    finding = fold(said("k7f3qz-1", "anna"), took_back("k7f3qz-2", "anna", "k7f3qz-1"))
    assert finding.slots == {}
    assert finding.value("status") is None


def test_entries_of_another_group_are_out_of_reach() -> None:
    """A withdrawal with the wrong survey takes nothing back and is listed as idle."""
    other = ("2026-12", GROUP[1])
    record = Record()
    record.add([said("k7f3qz-1", "anna"), took_back("k7f3qz-2", "anna", "k7f3qz-1", other)])
    assert record.findings[GROUP].value("status") == "alive"
    assert record.findings[other].idle == ("k7f3qz-2",)
