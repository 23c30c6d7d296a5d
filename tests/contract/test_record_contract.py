"""What a record must do, on whatever it is kept: the tablet's SQLite, the server's SQLite and PostgreSQL.

The record in memory, `shared_schema.fold.Record`, says what is right.
"""

import json
from collections.abc import Sequence
from contextlib import ExitStack
from typing import Any, Final

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from shared_schema.entries import read_entry, write_entry
from shared_schema.envelope import BaseEntry
from shared_schema.errors import EntryNotUnderstood, IdentityClash, SequenceGap
from shared_schema.fold import Finding, Record, Standing
from shared_schema.ids import Heads
from tests.contract.adapters import FreshRecord, KeptAside, RecordPort
from tests.contract.battered import ODD, REFUSED, STRANGE, TAGGED, battered
from tests.laws.histories import seasons, several_groups
from tests.laws.voices import GROUP, said, took_back

SURVEY, SUBJECT = GROUP
ANA, BEN = "k7f3qz", "m2w8rd"

FEW: Final = settings(max_examples=max(8, settings().max_examples // 12))
"""Each example asks a real database for a new nursery."""

histories: Final = st.one_of(several_groups(14), seasons())


def lines_of(*entries: BaseEntry) -> list[bytes]:
    """The entries as they travel."""
    return [write_entry(entry) for entry in entries]


def in_memory(entries: Sequence[BaseEntry]) -> Record:
    """What is right."""
    record = Record()
    record.add(entries)
    return record


def plain(told: Finding | Standing) -> str:
    """As JSON: a list that was read from a database equals a tuple that was folded."""
    return json.dumps({"whole": told, "by name": told[-1] if isinstance(told, Standing) else told.slots}, sort_keys=True)


def picture(record: RecordPort, groups: Sequence[tuple[str, str]]) -> dict[Any, Any]:
    """All that somebody can see of these groups, with every line."""
    shown: dict[Any, Any] = {group: plain(record.finding(*group)) for group in groups}
    shown |= {subject: plain(record.standing(subject)) for _, subject in groups}
    shown |= {("entries", *group): sorted(entry.id for entry in record.entries_of(*group)) for group in groups}
    return shown | {"heads": record.heads(), "lines": sorted(record.lines_after({})), "aside": record.set_aside()}


def expected(record: Record) -> dict[Any, Any]:
    """The same of the record in memory."""
    shown: dict[Any, Any] = {group: plain(finding) for group, finding in record.findings.items()}
    shown |= {subject: plain(standing) for subject, standing in record.standings.items()}
    shown |= {("entries", *group): sorted(held) for group, held in record.groups.items()}
    return shown | {"heads": record.heads(), "lines": sorted(lines_of(*record.entries.values())), "aside": []}


@st.composite
def pushes(draw: st.DrawFn, entries: Sequence[BaseEntry]) -> list[list[bytes]]:
    """These entries as requests might bring them: each writer's in order, writers mingled, in pieces, some once more."""
    waiting: dict[str, list[BaseEntry]] = {}
    for entry in sorted(entries, key=lambda entry: entry.entry_id):
        waiting.setdefault(entry.writer, []).append(entry)
    mingled: list[bytes] = []
    while waiting:
        writer = draw(st.sampled_from(sorted(waiting)))
        mingled += lines_of(waiting[writer].pop(0))
        if not waiting[writer]:
            del waiting[writer]
    made: list[list[bytes]] = []
    done = 0
    while done < len(mingled):
        again, size = draw(st.integers(0, done)), draw(st.integers(1, len(mingled)))
        made.append(mingled[done - again : done + size])
        done += size
    return made


def test_an_empty_record_says_nothing(fresh: FreshRecord) -> None:
    """Nobody spoke: no heads, no lines, a finding without facts, a standing without facts."""
    with fresh() as record:
        assert picture(record, [GROUP]) == {
            GROUP: plain(Finding(SURVEY, SUBJECT, {})),
            SUBJECT: plain(Standing(SUBJECT, {})),
            ("entries", *GROUP): [],
            "heads": {},
            "lines": [],
            "aside": [],
        }
        assert record.take([]) == (0, 0)


@given(st.data())
@FEW
def test_entries_in_any_order_in_pieces_and_again_make_the_record_in_memory(fresh: FreshRecord, data: st.DataObject) -> None:
    """Findings, standings, heads and lines are those of the fold, however the entries came."""
    entries = data.draw(histories)
    right = in_memory(entries)
    stored = 0
    with fresh() as record:
        for push in data.draw(pushes(entries)):
            new, known = record.take(push)
            stored += new
            assert new + known == len(set(push))
        assert stored == len(entries)
        assert picture(record, list(right.findings)) == expected(right)


@given(st.data())
@FEW
def test_all_stores_show_the_same(
    on_tablet: FreshRecord, on_sqlite: FreshRecord, on_postgresql: FreshRecord, data: st.DataObject
) -> None:
    """One set of entries, some of which nobody understands, by three ways into three stores: one picture."""
    entries = data.draw(histories)
    strange = data.draw(st.lists(st.sampled_from(STRANGE), max_size=3, unique=True))
    groups = list(in_memory(entries).findings)
    with ExitStack() as opened:
        shown = []
        for fresh in (on_tablet, on_sqlite, on_postgresql):
            record = opened.enter_context(fresh())
            for push in data.draw(pushes(entries)):
                record.take(push)
            record.take([line % number for number, line in enumerate(strange, start=1)])
            shown.append(picture(record, groups))
    assert shown[0] == shown[1] == shown[2]
    assert len(shown[0]["aside"]) == len(strange)


@given(st.data())
@FEW
def test_heads_say_what_is_lacking(fresh: FreshRecord, data: st.DataObject) -> None:
    """Whoever gets the lines beyond his heads holds the same; who has everything gets nothing."""
    entries = data.draw(histories)
    right = in_memory(entries)
    with fresh() as whole, fresh() as behind:
        whole.take(lines_of(*sorted(entries, key=lambda entry: entry.entry_id)))
        heads: Heads = {writer: data.draw(st.integers(0, head)) for writer, head in right.heads().items()}
        behind.take([line for line in whole.lines_after({}) if read_entry(line).entry_id.number <= heads[read_entry(line).writer]])
        lacking = whole.lines_after(behind.heads())
        assert len(lacking) == len(entries) - sum(heads.values())
        behind.take(lacking)
        assert picture(behind, list(right.findings)) == picture(whole, list(right.findings)) == expected(right)
        assert whole.lines_after(behind.heads()) == []


def test_a_line_is_kept_as_its_author_wrote_it(fresh: FreshRecord) -> None:
    """Another program's way of writing JSON is not tidied up, and folds all the same."""
    with fresh() as record:
        record.take([ODD])
        assert record.lines_after({}) == [ODD]
        assert record.finding(*GROUP).value("status") == "alive"


def test_the_same_again_is_known_and_changes_nothing(fresh: FreshRecord) -> None:
    """Within a push and after it: a lost answer makes a tablet send again."""
    first, second = lines_of(said(f"{ANA}-1", "ana"), said(f"{ANA}-2", "ana", status="sick"))
    with fresh() as record:
        assert record.take([first]) == (1, 0)
        before = picture(record, [GROUP])
        assert record.take([first]) == (0, 1)
        assert picture(record, [GROUP]) == before
        assert record.take([first, second]) == (1, 1)
        assert record.heads() == {ANA: 2}


@pytest.mark.parametrize("trouble", REFUSED)
def test_of_a_push_that_is_refused_nothing_is_kept(fresh: FreshRecord, trouble: str) -> None:
    """Otherwise heads would lie, or one id would have two contents."""
    kind, push = REFUSED[trouble]
    with fresh() as record:
        record.take(lines_of(said(f"{ANA}-1", "ana")))
        before = picture(record, [GROUP])
        with pytest.raises(kind):
            record.take(push)
        assert picture(record, [GROUP]) == before
        assert record.take(lines_of(said(f"{ANA}-1", "ana"), said(f"{BEN}-1", "ben"))) == (1, 1)


def test_a_refusal_names_what_is_wrong(fresh: FreshRecord) -> None:
    """From where on to send, and which entry is known otherwise."""
    with fresh() as record:
        record.take(lines_of(said(f"{ANA}-1", "ana")))
        with pytest.raises(SequenceGap) as gap:
            record.take(lines_of(said(f"{ANA}-4", "ana")))
        assert (gap.value.writer, gap.value.expected, gap.value.got) == (ANA, 2, 4)
        with pytest.raises(IdentityClash) as clash:
            record.take(lines_of(said(f"{ANA}-1", "ben")))
        assert clash.value.entry_id == f"{ANA}-1"


def test_what_cannot_be_understood_is_set_aside_byte_for_byte(fresh: FreshRecord) -> None:
    """A newer program's entry, an unknown kind, a damaged body, a tablet's ruling: kept, counted, handed on, folded to nothing."""
    strange = [line % number for number, line in enumerate(STRANGE, start=1)]
    reasons = ["newer", "unknown", "damaged", "damaged", "damaged", "not_allowed"]
    with fresh() as record:
        record.take(lines_of(said(f"{ANA}-1", "ana", status="sick")))
        assert record.take(strange) == (6, 0)
        assert record.heads() == {ANA: 1, "tt9xx9": 6}
        assert record.lines_after({ANA: 1}) == strange
        assert record.set_aside() == [
            KeptAside(f"tt9xx9-{number}", reason, line)
            for number, (reason, line) in enumerate(zip(reasons, strange, strict=True), start=1)
        ]
        finding = record.finding(*GROUP)
        assert (finding.value("status"), finding.open, finding.slots["status"].heads) == ("sick", (), (f"{ANA}-1",))
        assert record.take(strange) == (0, 6)


@given(st.lists(battered(), min_size=1, max_size=12), st.booleans())
@example(bodies=[{"kind": "note_made", "a\0b": 1}, {"kind": "a\0b" * 5_000}, TAGGED | {"tag": "a\0b"}], escaped=True)
@example(
    bodies=[{"kind": {"\u2603" * 5_000: 1}}, {"kind": "note_made", "\u2603" * 5_000: 1}, TAGGED | {"tag": "x" * 5_000}],
    escaped=False,
)
@FEW
def test_whatever_has_an_id_is_kept(fresh: FreshRecord, bodies: list[dict[str, Any]], escaped: bool) -> None:
    """No entry can hold up those after it: it folds, or is set aside with the reason that everybody gives."""
    numbered = [body | {"id": f"{ANA}-{number}"} for number, body in enumerate(bodies, start=1)]
    lines = [json.dumps(body, ensure_ascii=escaped).encode() for body in numbered]
    aside = []
    for line in lines:
        try:
            read_entry(line)
        except EntryNotUnderstood as why:
            aside.append((json.loads(line)["id"], why.reason))
    with fresh() as record:
        assert record.take(lines) == (len(lines), 0)
        assert record.lines_after({}) == lines
        assert record.heads() == {ANA: len(lines)}
        assert [(one.id, one.reason) for one in record.set_aside()] == aside
        assert record.take(lines) == (0, len(lines))


@given(st.lists(st.text(min_size=1, max_size=200), min_size=1, max_size=8), st.booleans())
@FEW
def test_any_words_that_somebody_wrote_are_kept_and_shown(fresh: FreshRecord, words: list[str], escaped: bool) -> None:
    """Notes in any script, with whatever a keyboard or a damaged disk puts between."""
    envelope: dict[str, Any] = {"kind": "note_made", "survey": SURVEY, "subject": SUBJECT, "by": "ana"}
    envelope |= dict.fromkeys(("observed", "entered"), "2026-11-14T09:00:00Z")
    bodies = [{"id": f"{ANA}-{number}", "text": word} | envelope for number, word in enumerate(words, start=1)]
    lines = [json.dumps(body, ensure_ascii=escaped).encode() for body in bodies]
    right = in_memory([read_entry(line) for line in lines])
    with fresh() as record:
        assert record.take(lines) == (len(lines), 0)
        assert plain(record.finding(*GROUP)) == plain(right.findings[GROUP])


def test_what_an_entry_replaces_may_come_later_or_never(fresh: FreshRecord) -> None:
    """The missing one is named until it comes; then the picture is as if it had always been there."""
    early, late = said(f"{ANA}-1", "ana", status="dead"), said(f"{BEN}-1", "ben", [f"{ANA}-1"], status="sick")
    with fresh() as record:
        record.take(lines_of(late))
        assert record.finding(*GROUP).missing == (f"{ANA}-1",)
        record.take(lines_of(early))
        assert picture(record, [GROUP]) == expected(in_memory([early, late]))
        assert record.finding(*GROUP).missing == ()


def test_a_withdrawn_value_gives_way_to_that_of_the_survey_before(fresh: FreshRecord) -> None:
    """The standing follows the latest survey that still speaks, by its name."""
    before = said(f"{ANA}-1", "ana", group=("2026-10", SUBJECT), status="fading")
    now, back = said(f"{ANA}-2", "ana", status="lost"), took_back(f"{ANA}-3", "ana", f"{ANA}-2")
    with fresh() as record:
        record.take(lines_of(before, now))
        assert record.standing(SUBJECT).value("status") == "lost"
        record.take(lines_of(back))
        assert record.standing(SUBJECT).value("status") == "fading"
        assert picture(record, [GROUP, before.group]) == expected(in_memory([before, now, back]))
