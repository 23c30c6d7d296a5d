"""Entries on their lines: what is written is read back, and what cannot be understood is set aside with a reason."""

import json
from datetime import UTC, datetime
from typing import Any, Final, get_args

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from pydantic import ValidationError

from shared_schema.entries import KINDS, VERSION, ConditionSeen, Entry, entry_id_of, read_entry, write_entry
from shared_schema.envelope import BaseEntry
from shared_schema.errors import BadFrame, EntryNotUnderstood
from shared_schema.ids import EntryId
from tests.laws.effort import FEWER
from tests.shared_schema.kinds import ENTRIES
from tests.shared_schema.lines import SEEN, line, refusal

ANY: Final = st.one_of(*ENTRIES.values())
JSON: Final = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)


def test_every_kind_has_a_name_of_its_own_and_is_one_of_the_kinds_that_are_read() -> None:
    """No kind is written that cannot be read, and the tests know them all."""
    assert set(KINDS.values()) == set(get_args(Entry))
    assert len(KINDS) == len(get_args(Entry)) == 20
    assert ENTRIES.keys() == KINDS.keys()


@pytest.mark.parametrize("kind", sorted(KINDS))
@given(data=st.data())
@FEWER
def test_what_is_written_is_read_back_and_written_the_same_to_the_byte(kind: str, data: st.DataObject) -> None:
    """A line may be read and written any number of times: it stays one line of the same bytes, and says the same."""
    entry = data.draw(ENTRIES[kind])
    written = write_entry(entry)
    again = read_entry(written)
    assert again == entry
    assert type(again) is KINDS[kind]
    assert write_entry(again) == written
    assert b"\n" not in written
    assert list(again.facts()) == list(entry.facts())


def test_words_stand_on_a_line_in_their_own_script() -> None:
    """Whoever opens the file reads them, and they take no more room than they need."""
    assert 'by":"ก้อย'.encode() in write_entry(read_entry(line(SEEN, by="ก้อย")))


@given(entry=ANY)
@FEWER
def test_a_line_holds_whole_numbers_and_text_and_never_a_float(entry: BaseEntry) -> None:
    """Numbers that people measure are exact on the wire."""

    def no_float(text: str) -> None:
        raise AssertionError(text)

    json.loads(write_entry(entry), parse_float=no_float, parse_constant=no_float)


@given(entry=ANY)
@FEWER
def test_a_line_begins_with_id_kind_and_version_and_leaves_out_what_is_empty(entry: BaseEntry) -> None:
    """Whoever reads a file of entries sees first what each line is."""
    body = json.loads(write_entry(entry))
    assert list(body)[:3] == ["id", "kind", "v"]
    assert (body["v"], KINDS[body["kind"]]) == (VERSION, type(entry))
    for name in ("survey", "replaces", "visit", "typed_by"):
        assert body.get(name, True)


@given(entry=ANY)
@FEWER
def test_an_entry_belongs_to_its_group_and_its_writer(entry: BaseEntry) -> None:
    """Id, writer and group follow from the fields alone."""
    assert entry.group == (entry.survey, entry.subject)
    assert str(entry.entry_id) == entry.id
    assert entry.writer == entry.entry_id.writer == entry_id_of(write_entry(entry)).writer


@given(entry=ANY)
@FEWER
def test_an_entry_cannot_be_changed(entry: BaseEntry) -> None:
    """What was said was said."""
    with pytest.raises(ValidationError, match="frozen"):
        entry.by = "somebody"  # type: ignore[misc] # that is the point


@pytest.mark.parametrize(
    ("changes", "reason", "words"),
    [
        ({"kind": "coral_sung_to"}, "unknown", "kind 'coral_sung_to', which this program does not know: update it"),
        ({"v": 2}, "newer", "version 2, and this program knows 1: update it"),
        ({"v": 2, "kind": "coral_sung_to"}, "newer", "version 2"),
        ({"v": 2, "mood": "bright"}, "newer", "version 2"),
        ({"v": 0}, "damaged", "v = '0'"),
        ({"mood": "bright"}, "damaged", "mood = 'bright'"),
        ({"status": "asleep"}, "damaged", "status = 'asleep'"),
        ({"status": None}, "damaged", "must state something"),
        ({"status": None, "seen_at": "T07/3.2.4"}, "damaged", "must state something"),
        ({"live_tissue": 50.5}, "damaged", "live_tissue = '50.5'"),
        ({"live_tissue": 50.0}, "damaged", "live_tissue = '50.0'"),
        ({"by": None}, "damaged", "by = 'None'"),
        ({"observed": "2026-11-14T09:30:00"}, "damaged", "observed = '2026-11-14T09:30:00'"),
        ({"observed": "yesterday"}, "damaged", "observed = 'yesterday'"),
        ({"subject": "structure:T07"}, "damaged", "does not fit ConditionSeen: it speaks about fragment or position"),
        ({"survey": "November"}, "damaged", "survey = 'November'"),
        ({"replaces": ["m2w8rd-0"]}, "damaged", "replaces.0 = 'm2w8rd-0'"),
        ({"seen_at": "T07"}, "damaged", "seen_at = 'T07'"),
        ({"kind": 7}, "damaged", "kind"),
        ({"kind": None}, "damaged", "kind"),
    ],
)
def test_what_cannot_be_understood_is_refused_with_a_reason(changes: dict[str, Any], reason: str, words: str) -> None:
    """A newer program, a damaged body: the supervisor reads which entry, which field, which value."""
    why = refusal(line(SEEN, **changes))
    assert why.reason == reason
    assert words in why.detail
    assert why.detail.startswith("k7f3qz-1")
    assert "Value error" not in why.detail
    assert entry_id_of(line(SEEN, **changes)) == EntryId("k7f3qz", 1)


@pytest.mark.parametrize(
    "text",
    [
        b"",
        b"{",
        b"null",
        b"[]",
        b'"k7f3qz-1"',
        b'{"id":"k7f3qz-1","v":1' + b"0" * 5000 + b"}",
        b"\xff\xfe",
        b"{}",
        b'{"id":7}',
        b'{"id":null}',
        b'{"id":"K7F3QZ-1"}',
        line(SEEN) + b"x",
        line(SEEN)[:-1],
        line(SEEN) + line(SEEN),
        b'{"id":"k7f3qz-1","by":"\xe9"}',
    ],
)
def test_a_line_without_an_id_is_no_entry_at_all(text: bytes) -> None:
    """Cut off, doubled, of another encoding or without an id: there is nothing to file it under."""
    with pytest.raises(BadFrame):
        read_entry(text)
    with pytest.raises(BadFrame):
        entry_id_of(text)


def test_brackets_within_brackets_are_refused_and_break_nothing() -> None:
    """A line that would exhaust a careless reader's stack is refused like any other nonsense."""
    for depth in (10, 100, 300, 30_000):
        deep = b'{"id":"k7f3qz-1","kind":"condition_seen","x":' + b"[" * depth + b"]" * depth + b"}"
        with pytest.raises((BadFrame, EntryNotUnderstood)):
            read_entry(deep)


@given(
    body=st.dictionaries(st.sampled_from([*SEEN, "live_tissue", "fact", "value", "target", "x"]), JSON),
    kind=st.sampled_from(sorted(KINDS)),
)
@example({"id": "k7f3qz-1", "x": "\ud800"}, "note_made")
@example({"v": float("inf")}, "note_made")
def test_no_line_breaks_the_reader(body: dict[str, Any], kind: str) -> None:
    """Whatever a tablet sends: an entry, or one of the two refusals; where its id can be read, it always can."""
    text = json.dumps({"id": "k7f3qz-1", "kind": kind} | body).replace("\\u0000", "")
    try:
        entry: Any = read_entry(text)
    except BadFrame:
        with pytest.raises(BadFrame):
            entry_id_of(text)
    except EntryNotUnderstood:
        assert refusal(text).reason in {"unknown", "newer", "damaged", "not_allowed"}
        assert entry_id_of(text)
    else:
        assert read_entry(write_entry(entry)) == entry


@given(entry=ANY, data=st.data())
def test_one_field_gone_wrong_in_any_entry_is_said_or_harmless(entry: BaseEntry, data: st.DataObject) -> None:
    """A damaged body never becomes an entry that cannot be written again, nor a float."""
    body = json.loads(write_entry(entry))
    name = data.draw(st.sampled_from(sorted(body.keys() - {"id"})))
    text = json.dumps(body | {name: data.draw(JSON)})
    try:
        again: Any = read_entry(text)
    except EntryNotUnderstood:
        assert refusal(text).detail.startswith(entry.id)
    else:
        written = write_entry(again)
        assert read_entry(written) == again
        json.loads(written, parse_float=pytest.fail, parse_constant=pytest.fail)


@given(entry=ANY, cut=st.integers(1, 400))
@FEWER
def test_a_line_cut_off_anywhere_is_no_entry(entry: BaseEntry, cut: int) -> None:
    """Half a line is never taken for a whole one."""
    written = write_entry(entry)
    with pytest.raises(BadFrame):
        read_entry(written[: -min(cut, len(written))])


def test_an_id_given_twice_in_a_line_is_one_and_the_same_for_every_reader() -> None:
    """What is stored under an id is the entry of that id, even where the line names two."""
    doubled = line(SEEN)[:-1] + b',"id":"k7f3qz-9"}'
    assert str(entry_id_of(doubled)) == read_entry(doubled).id


def test_a_payload_is_what_the_kind_adds_to_the_envelope() -> None:
    """What a log shows of an entry is its own words, in JSON, without what is empty."""
    now = datetime(2026, 11, 14, tzinfo=UTC)
    entry = ConditionSeen(
        id="k7f3qz-1", subject="fragment:A", by="anna", observed=now, entered=now, signs=("spots", "band", "band")
    )
    assert entry.payload() == {"basis": "tapped", "signs": ["band", "spots"]}
