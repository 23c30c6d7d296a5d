"""Merging is set union, and state is a function of the set: no order, repetition, piecing or clock can change it."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta, timezone
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared_schema.envelope import BaseEntry
from shared_schema.errors import IdentityClash
from shared_schema.fold import Finding, Record, Standing, fold_group, restand, stand
from tests.laws.effort import FEWER
from tests.laws.histories import LATECOMERS, PEOPLE, one_group, seasons, several_groups, shuffled
from tests.laws.voices import GROUP, fold, said, took_back

ANY: Final = st.one_of(several_groups(), seasons())
CLOCKS: Final = (
    datetime(1970, 1, 1, tzinfo=UTC),
    datetime(2090, 6, 1, 23, 59, tzinfo=timezone(timedelta(hours=14))),
    datetime(2026, 11, 14, tzinfo=timezone(timedelta(hours=-11, minutes=-30))),
)


def record_of(entries: Sequence[BaseEntry]) -> Record:
    """A record that took these entries in at once."""
    record = Record()
    record.add(entries)
    return record


def merged(*records: Record) -> Record:
    """A new record with all that these hold, taken in one after the other."""
    whole = Record()
    for record in records:
        whole.add(record.entries.values())
    return whole


def folded_anew(record: Record) -> tuple[dict[tuple[str, str], Finding], dict[str, Standing]]:
    """Findings and standings from nothing but the entries."""
    findings = {group: fold_group(held.values()) for group, held in record.groups.items()}
    subjects = {subject for _, subject in findings}
    return findings, {
        subject: stand(subject, [found for found in findings.values() if found.subject == subject]) for subject in subjects
    }


@given(st.data())
def test_a_group_folds_to_the_same_in_any_order_and_however_often_an_entry_comes(data: st.DataObject) -> None:
    """Whoever brings the entries, in whatever order and how often: the finding is equal, and prints the same."""
    entries = data.draw(one_group())
    again = data.draw(shuffled(entries))
    assert repr(fold_group(again)) == repr(fold_group(entries))


@given(st.data())
@FEWER
def test_a_record_is_the_same_whether_entries_come_at_once_or_in_pieces_and_repeated(data: st.DataObject) -> None:
    """A sync that breaks off, resumes and repeats itself ends where an unbroken one does."""
    entries = data.draw(ANY)
    pieces = data.draw(shuffled(entries)) if entries else []
    record = Record()
    while pieces:
        size = data.draw(st.integers(1, len(pieces)))
        record.add(pieces[:size])
        pieces = pieces[size:]
    assert record == record_of(entries)


@given(st.data())
@FEWER
def test_a_record_that_grew_piece_by_piece_equals_one_folded_anew(data: st.DataObject) -> None:
    """Folding only what was touched gives the findings and standings that folding everything gives."""
    entries = data.draw(ANY)
    record = Record()
    rest = list(data.draw(st.permutations(entries)))
    while rest:
        size = data.draw(st.integers(1, len(rest)))
        record.add(rest[:size])
        rest = rest[size:]
        findings, standings = folded_anew(record)
        assert record.findings == findings
        assert record.standings == standings


@given(st.data())
@FEWER
def test_merging_is_associative_commutative_and_idempotent(data: st.DataObject) -> None:
    """Three tablets that hold overlapping parts come to one record, however they are merged."""
    entries = data.draw(ANY)
    parts = st.lists(st.booleans(), min_size=len(entries), max_size=len(entries))
    some = [[one for one, take in zip(entries, data.draw(parts), strict=True) if take] for _ in range(3)]
    a, b, c = map(record_of, some)
    assert merged(a, b) == merged(b, a)
    assert merged(merged(a, b), c) == merged(a, merged(b, c))
    assert merged(a, a) == a
    assert merged(a, merged(a, b)) == merged(a, b)


@given(entries=several_groups())
@FEWER
def test_adding_what_is_known_touches_nothing(entries: tuple[BaseEntry, ...]) -> None:
    """Only new entries cost a fold, so that a repeated batch is cheap."""
    record = record_of(entries)
    assert record.add(reversed(entries)) == set()
    assert Record().add(entries) == {entry.group for entry in entries}


@given(entries=one_group(), data=st.data())
@FEWER
def test_clocks_decide_nothing(entries: tuple[BaseEntry, ...], data: st.DataObject) -> None:
    """A tablet whose clock stands at 1970 or runs in 2090 changes no finding."""
    clocks = st.sampled_from(CLOCKS)
    astray = [one.model_copy(update={"observed": data.draw(clocks), "entered": data.draw(clocks)}) for one in entries]
    assert fold_group(astray) == fold_group(entries)


@given(entries=one_group(), data=st.data())
@FEWER
def test_who_typed_and_on_which_dive_decides_nothing(entries: tuple[BaseEntry, ...], data: st.DataObject) -> None:
    """Only who saw it counts as the author."""
    names = st.none() | st.sampled_from(PEOPLE)
    typed = [one.model_copy(update={"typed_by": data.draw(names), "visit": data.draw(names)}) for one in entries]
    assert fold_group(typed) == fold_group(entries)


@given(entries=several_groups(), data=st.data())
@FEWER
def test_restanding_after_one_change_equals_standing_anew_or_says_that_it_cannot(
    entries: tuple[BaseEntry, ...], data: st.DataObject
) -> None:
    """A standing kept up to date finding by finding never strays from the standing of all findings."""
    first = data.draw(st.integers(0, len(entries)))
    before, after = record_of(entries[:first]), record_of(entries)
    findings = dict(before.findings)
    for group, finding in sorted(after.findings.items()):
        held = stand(finding.subject, [one for one in findings.values() if one.subject == finding.subject])
        findings[group] = finding
        anew = stand(finding.subject, [one for one in findings.values() if one.subject == finding.subject])
        assert restand(held, finding) in (anew, None)


def test_a_withdrawal_and_a_first_word_in_a_later_survey_may_come_together() -> None:
    """One batch may empty an early finding and open a later survey of the same subject."""
    later = ("2026-12", GROUP[1])
    record = record_of([said("k7f3qz-1", "anna")])
    record.add([took_back("k7f3qz-2", "anna", "k7f3qz-1"), said("k7f3qz-3", "anna", group=later, status="dead")])
    assert record.standings[GROUP[1]].value("status") == "dead"


def test_a_withdrawn_word_of_the_latest_survey_lets_the_earlier_value_stand_again() -> None:
    """What an earlier survey found is the present state once nothing later speaks."""
    later = ("2026-12", GROUP[1])
    record = record_of([said("k7f3qz-1", "anna"), said("k7f3qz-2", "anna", group=later, status="dead")])
    record.add([took_back("k7f3qz-3", "anna", "k7f3qz-2", later)])
    held = record.standings[GROUP[1]].facts["status"]
    assert (held.survey, held.value) == ("2026-11", "alive")


@given(entries=one_group(), by=st.sampled_from(PEOPLE))
@FEWER
def test_the_same_id_with_other_content_is_said_loudly_and_changes_nothing(entries: tuple[BaseEntry, ...], by: str) -> None:
    """A cloned tablet's entry is neither taken nor dropped in silence, and nothing that came with it is half kept."""
    record = record_of(entries)
    clone = said(entries[0].id, f"{by}-twin")
    with pytest.raises(IdentityClash, match=entries[0].id):
        record.add([said(LATECOMERS[0], by), clone])
    assert record == record_of(entries)


def test_two_clones_in_one_batch_are_said_loudly() -> None:
    """It makes no difference whether the first of the two was here before."""
    record = Record()
    with pytest.raises(IdentityClash, match="k7f3qz-1"):
        record.add([said("k7f3qz-1", "anna"), said("k7f3qz-1", "ben")])
    assert record == Record()


@given(entries=several_groups())
@FEWER
def test_heads_give_the_highest_number_of_each_writer(entries: tuple[BaseEntry, ...]) -> None:
    """What a record says it holds are the numbers of its entries."""
    heads = record_of(entries).heads()
    assert heads == {one.writer: max(o.entry_id.number for o in entries if o.writer == one.writer) for one in entries}


def test_what_no_entry_of_the_group_is_named_is_listed_as_missing() -> None:
    """An entry that replaces one that never came is folded all the same, and what it lacks is listed."""
    finding = fold(said("k7f3qz-2", "anna", ["k7f3qz-1"]), took_back("k7f3qz-3", "anna", "m2w8rd-5"))
    assert finding.missing == ("k7f3qz-1", "m2w8rd-5")
    assert finding.idle == ("k7f3qz-3",)
    assert finding.value("status") == "alive"
