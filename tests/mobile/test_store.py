"""The tablet's store: what it keeps, how it reads, and what it refuses."""

import sqlite3
import tempfile
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mobile.database import SCHEMA_VERSION
from mobile.digest import digest_of
from mobile.store import Store
from shared_schema.entries import ConditionSeen, FragmentMoved, read_entry, write_entry
from shared_schema.errors import BadFrame, IdentityClash, SequenceGap, StorageError
from shared_schema.fold import Record
from tests.mobile.nursery import SURVEY, lines_of, office_author, recorder, small_nursery, tablet

ENTRIES = small_nursery(("T01",), {"F-T01-1": "bleached"})
LINES = lines_of(ENTRIES)
STRANGE = b'{"id":"x2x2x2-1","kind":"moon_seen","v":1,"subject":"fragment:F-T01-1","phase":"full"}'


def test_a_tablet_shows_what_the_shared_fold_makes_of_its_entries(tmp_path: Path) -> None:
    """Store and fold cannot drift apart: every finding is that of the record in memory."""
    record = Record()
    record.add(ENTRIES)
    with Store(tmp_path / "t.sqlite") as store:
        store.take(LINES)
        assert {(one.survey, one.subject): one for one in store.every_finding()} == record.findings
        assert all(store.standing(subject) == standing for subject, standing in record.standings.items())
        assert store.heads() == record.heads()


@settings(max_examples=25)
@given(st.permutations(LINES), st.lists(st.integers(0, len(LINES)), max_size=4))
def test_entries_in_any_order_in_pieces_and_again_make_the_same_tablet(lines: list[bytes], cuts: list[int]) -> None:
    """Adding is set union: what came when, and how often, leaves no trace."""
    with (
        tempfile.TemporaryDirectory() as folder,
        Store(Path(folder) / "a.sqlite") as one,
        Store(Path(folder) / "b.sqlite") as other,
    ):
        one.add(LINES)
        for start, stop in pairwise([0, *sorted(cuts), len(lines)]):
            other.add(lines[start:stop])
        assert other.add(lines) == (0, len(lines))
        assert digest_of(one) == digest_of(other)


def test_a_structure_shows_what_hangs_there_now(tmp_path: Path) -> None:
    """A fragment that left is gone from the chart, one that came from elsewhere is on it, with its history."""
    office = office_author(len(small_nursery()))
    office.write(FragmentMoved, "fragment:F-T01-1", "2026-10", place="holding")
    office.write(FragmentMoved, "fragment:F-T02-1", "2026-10", place="T01/1.1.1")
    with tablet(tmp_path / "t.sqlite", statuses={}) as store:
        store.take(lines_of(office.written))
        chart = store.on_structure("T01")
        assert [one.fragment for one in chart.at("T01/1.1.1")] == ["F-T02-1"]
        assert len(chart.hung) == 12
        assert chart.hung[0].standing.value("genet") == "G1"
        assert [one.fragment for one in store.at("T01/1.1.1")] == ["F-T02-1"]
        assert "F-T02-1" not in [one.fragment for one in store.on_structure("T02").hung]
        assert store.fragment("F-T01-1").place == "holding"


def test_a_chart_is_in_reading_order_and_knows_its_pages(tmp_path: Path) -> None:
    """What the slate lists first comes first."""
    with tablet(tmp_path / "t.sqlite") as store:
        chart = store.on_structure("T01")
        assert [one.place for one in chart.on_page("T01/2")] == [f"T01/2.{arm}.{hole}" for arm in (1, 2) for hole in (1, 2, 3)]
        assert chart.pages == ("T01/1", "T01/2")


def test_structures_whose_names_begin_alike_are_kept_apart(tmp_path: Path) -> None:
    """T1 is not T10: a chart has its own fragments only."""
    entries = small_nursery(("T1", "T10", "T1-b"))
    with Store(tmp_path / "t.sqlite") as store:
        store.take(lines_of(entries))
        assert {one.fragment[:5] for one in store.on_structure("T1").hung} == {"F-T1-"}
        assert len(store.on_structure("T1").hung) == 12
        assert set(store.on_structure("T1").about) == {"structure:T1"}


def test_the_catalogue_lists_what_can_be_chosen(tmp_path: Path) -> None:
    """Structures with their designs, surveys, people and genets, by id."""
    with tablet(tmp_path / "t.sqlite") as store:
        assert [(one.id, one.name, one.design is not None) for one in store.catalogue.structures()] == [
            ("T01", "Tree T01", True),
            ("T02", "Tree T02", True),
        ]
        assert [(one.id, one.structures) for one in store.catalogue.surveys()] == [(SURVEY, ("T01", "T02"))]
        assert [(one.id, one.name) for one in store.catalogue.people()] == [("ana", "Ana"), ("ben", "Ben")]
        assert [one.species for one in store.catalogue.genets()] == ["Acropora cervicornis"]


def test_the_same_id_with_other_content_is_said_loudly_and_nothing_of_the_batch_is_kept(tmp_path: Path) -> None:
    """A twin's entry never replaces what is held, nor slips in beside it."""
    other = write_entry(office_author().write(ConditionSeen, "fragment:F-T01-1", SURVEY, status="dead"))
    with tablet(tmp_path / "t.sqlite") as store:
        before = digest_of(store)
        with pytest.raises(IdentityClash, match="officeab-1 "):
            store.add([STRANGE, other])
        with pytest.raises(IdentityClash):
            store.add([STRANGE, STRANGE.replace(b"full", b"new")])
        assert digest_of(store) == before


def test_what_cannot_be_understood_is_kept_as_it_came_and_set_aside_in_sight(tmp_path: Path) -> None:
    """A newer program's entry folds to nothing here, and is handed on byte for byte."""
    with tablet(tmp_path / "t.sqlite") as store:
        folded = digest_of(store).folded
        store.take([STRANGE])
        assert [(one.id, one.reason) for one in store.set_aside()] == [("x2x2x2-1", "unknown")]
        assert STRANGE in list(store.every_line())
        assert digest_of(store).folded == folded
        assert store.heads()["x2x2x2"] == 1


def test_an_updated_program_reads_what_it_could_not_read_before(tmp_path: Path) -> None:
    """Entries set aside by an older program come into the fold when the new one opens the file."""
    line = write_entry(office_author(writer="w3w3w3").write(ConditionSeen, "fragment:F-T01-1", SURVEY, status="sick"))
    path = tmp_path / "t.sqlite"
    with tablet(path) as store:
        store.take([line])
        # There is no older program to run: leave the file as one would have left it.
        with store.database.writing():
            store.database.run("UPDATE entry SET survey = '', subject = '', place = NULL WHERE writer = 'w3w3w3'")
            store.settings.put(understood="1:condition_felt")
        assert store.finding(SURVEY, "fragment:F-T01-1") is None
    with Store(path) as store:
        finding = store.finding(SURVEY, "fragment:F-T01-1")
        assert finding is not None
        assert finding.value("status") == "sick"
        assert store.set_aside() == ()


def test_what_is_no_entry_at_all_is_refused_whole(tmp_path: Path) -> None:
    """One line without an id: nothing of the batch is stored."""
    with Store(tmp_path / "t.sqlite") as store:
        with pytest.raises(BadFrame):
            store.take([*LINES, b"{}"])
        assert list(store.every_line()) == []


def test_entries_of_others_are_taken_only_without_a_gap(tmp_path: Path) -> None:
    """Otherwise the heads would lie, and what is missing would never come."""
    with Store(tmp_path / "t.sqlite") as store:
        with pytest.raises(SequenceGap, match="officeab-3"):
            store.take([*LINES[:2], *LINES[3:]])
        assert store.heads() == {}


def test_a_file_of_a_newer_program_is_refused_by_version_and_left_alone(tmp_path: Path) -> None:
    """The message names both versions; the file keeps its bytes."""
    path = tmp_path / "t.sqlite"
    with tablet(path) as store:
        store.database.run(f"PRAGMA user_version={SCHEMA_VERSION + 1}")
    before = path.read_bytes()
    with pytest.raises(StorageError, match=rf"version {SCHEMA_VERSION + 1}.*up to {SCHEMA_VERSION}.*update"):
        Store(path)
    assert path.read_bytes() == before


@pytest.mark.parametrize("start", [0, 4096, 20_000])
def test_a_damaged_file_is_named_and_left_as_it_is(tmp_path: Path, start: int) -> None:
    """Wherever the disk lost bytes, the tablet says so and deletes nothing."""
    path = tmp_path / "t.sqlite"
    with tablet(path):
        pass
    content = bytearray(path.read_bytes())
    content[start : start + 3000] = b"\xa5" * 3000
    path.write_bytes(content)
    with pytest.raises(StorageError, match="damaged"):
        Store(path)
    assert path.read_bytes() == content


def test_another_programs_file_is_not_taken_over(tmp_path: Path) -> None:
    """A database with tables of its own is left alone."""
    path = tmp_path / "other.sqlite"
    other = sqlite3.connect(path)
    with other:
        other.execute("CREATE TABLE recipe (name TEXT)")
    other.close()
    with pytest.raises(StorageError, match="another program"):
        Store(path)


def test_a_full_disk_refuses_the_tap_and_keeps_what_was_there(tmp_path: Path) -> None:
    """The crew is told; nothing is half written; what was recorded before still stands after opening again."""
    path = tmp_path / "t.sqlite"
    with tablet(path) as store:
        kept = recorder(store).mark("T01/1.1.1", status="bleached").entries
        pages = store.database.rows("PRAGMA page_count")[0][0]
        store.database.rows(f"PRAGMA max_page_count={pages}")
        before, refused = digest_of(store), ""
        while not refused:
            before = digest_of(store)
            try:
                recorder(store).note("T01", "a long note " * 300)
            except StorageError as error:
                refused = str(error)
        assert "make room" in refused
        assert digest_of(store) == before
        assert store.undo.last is not None
        last = store.undo.last.entries[-1]
    with Store(path) as store:
        assert digest_of(store) == before
        assert store.undo.last is not None
        assert store.undo.last.entries[-1] == last
        assert store.entries_of(SURVEY, "fragment:F-T01-1") == kept
        store.take([STRANGE])


def test_two_connections_to_one_file_wait_for_each_other(tmp_path: Path) -> None:
    """The screen's store and the sync's store on one file: neither loses a number to the other."""
    path = tmp_path / "t.sqlite"
    with tablet(path) as one, Store(path, check=False) as other:
        for place in ("T01/1.1.1", "T01/1.1.2", "T01/1.1.3"):
            recorder(one).mark(place, status="alive")
            recorder(other, "ben").mark(place, status="dead")
        assert one.last("k7f3qz") == other.last("k7f3qz") == 6
        assert digest_of(one) == digest_of(other)


def test_lines_are_kept_byte_for_byte(tmp_path: Path) -> None:
    """Another program's way of writing JSON is not tidied up: what is handed on is what came."""
    odd = b'{ "subject":"fragment:F-T01-1", "id":"w3w3w3-1","kind":"condition_seen","survey":"2026-11","by":"ana",'
    odd += b'"observed":"2026-11-14T09:00:00+10:00","entered":"2026-11-14T09:00:01+10:00","status":"alive" }'
    with tablet(tmp_path / "t.sqlite") as store:
        store.take([odd])
        assert store.line(read_entry(odd).entry_id) == odd
        finding = store.finding(SURVEY, "fragment:F-T01-1")
        assert finding is not None
        assert finding.value("status") == "alive"
