"""Two tablets that were one: copied files and restored backups. Nobody writes over anybody."""

import json
import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from mobile.store import Store
from mobile.tally import tally_visits
from shared_schema.entries import NoteMade
from tests.mobile.fake_server import Fault
from tests.mobile.nursery import NOW, SURVEY, recorder, tablet
from tests.mobile.syncing import FAULTS, OFFICE, a_server, held_by, syncing


def _copied(path: Path, to: Path) -> None:
    with Store(path) as store:
        store.database.rows("PRAGMA wal_checkpoint(TRUNCATE)")
    to.write_bytes(path.read_bytes())


def test_a_cloned_tablet_becomes_somebody_else_and_no_entry_of_either_twin_is_lost(tmp_path: Path) -> None:
    """What both wrote before the copy is there once, what each wrote after it stays apart; the crew is told loudly."""
    server = a_server()
    one, twin = tmp_path / "one.sqlite", tmp_path / "twin.sqlite"
    with tablet(one) as store:
        recorder(store).mark("T01/1.1.1", status="alive")
        syncing(store, server).run()
        recorder(store).mark("T01/1.1.2", status="fading")
    _copied(one, twin)
    with tablet(one) as store:
        recorder(store).mark("T01/1.1.3", status="dead")
        assert syncing(store, server).run().state == "in_step"
    with tablet(twin) as store:
        crew = recorder(store, "ben")
        crew.mark("T01/1.1.3", status="sick")
        crew.mark("T01/1.1.3", status="bleached")
        planted = crew.plant("T01/2.2.3", "T01/1.1.1").fragment
        crew.harvest(planted, 2)
        crew.note(planted, "cut short", about=planted)
        assert syncing(store, server).run().state == "in_step"
        assert store.identities.own.writer == "fresh1"
        assert [notice.sort for notice in store.notices.all] == ["new_identity"]
        assert "k7f3qz" in store.notices.all[0].text
        assert held_by(store) == server.lines()
        assert [(one.saved, one.sent) for one in tally_visits(store)] == [(5, 5)]
        (fork,) = server.heads().keys() - {"officeab", "k7f3qz"}
        assert server.heads() == {"officeab": len(OFFICE), "k7f3qz": 3, fork: 5}
        seen = store.entries_of(SURVEY, "fragment:F-T01-3")
        assert [(entry.id, entry.replaces) for entry in seen if entry.writer == fork] == [
            (f"{fork}-1", ()),
            (f"{fork}-2", (f"{fork}-1",)),
        ]
        assert {one.fragment for one in store.at("T01/2.2.3")} == {"F-T01-12", f"{fork}-3"}
        notes = [entry for entry in store.entries_of(SURVEY, f"fragment:{fork}-3") if isinstance(entry, NoteMade)]
        assert [note.about for note in notes] == [f"{fork}-3"]
        assert crew.undo() is not None
        assert crew.undo() is not None
        assert store.entries_of(SURVEY, f"fragment:{fork}-3")[-1].id == "fresh1-2"
    with tablet(one) as store:
        assert syncing(store, server).run().state == "in_step"
        assert store.identities.own.writer == "k7f3qz"
        finding = store.finding(SURVEY, "fragment:F-T01-3")
        assert finding is not None
        assert finding.open == ("status",)


def test_a_tablet_restored_from_its_own_backup_is_caught_before_it_writes_over_its_past(tmp_path: Path) -> None:
    """The server knows more of it than it does itself: it takes a new name, and its old entries come back to it."""
    server = a_server()
    path, backup = tmp_path / "t.sqlite", tmp_path / "backup.sqlite"
    with tablet(path) as store:
        recorder(store).mark("T01/1.1.1", status="alive")
        syncing(store, server).run()
    _copied(path, backup)
    with tablet(path) as store:
        recorder(store).mark("T01/1.1.2", status="fading")
        syncing(store, server).run()
    with tablet(backup) as store:
        assert syncing(store, server).run().state == "in_step"
        assert store.identities.own.writer == "fresh1"
        assert held_by(store) == server.lines()
        recorder(store).mark("T01/1.1.3", status="sick")
        assert syncing(store, server).run().state == "in_step"
        assert server.heads()["fresh1"] == 1


@settings(max_examples=25)
@given(st.integers(0, 3), st.integers(0, 3), st.integers(0, 4), st.integers(1, 3), st.lists(st.sampled_from(FAULTS), max_size=8))
def test_twins_never_lose_or_double_an_entry(before: int, copied: int, after: int, batch: int, faults: list[Fault | None]) -> None:
    """However much was sent before the copy, copied unsent, and written by each after it, all arrives once."""
    server = a_server()
    with tempfile.TemporaryDirectory() as folder:
        one, twin = Path(folder) / "one.sqlite", Path(folder) / "twin.sqlite"
        with tablet(one) as store:
            _note(store, "before", before)
            syncing(store, server).run()
            _note(store, "copied", copied)
        _copied(one, twin)
        server.faults = list(faults)
        for path, name, count in ((one, "one", 2), (twin, "twin", after)):
            with tablet(path) as store:
                _note(store, name, count)
                sync = syncing(store, server, tries=2)
                sync._outbox.batch = batch
                sync.run()
        server.faults = []
        for path in (one, twin, one):
            with tablet(path) as store:
                sync = syncing(store, server)
                sync._outbox.batch = batch
                assert sync.run().state == "in_step"
                assert held_by(store) == server.lines()
        texts = [json.loads(line).get("text") for line in server.lines() if b"note_made" in line]
        wanted = [("before", before), ("copied", copied), ("one", 2), ("twin", after)]
        assert sorted(texts) == sorted(f"{name} {n}" for name, count in wanted for n in range(count))


def test_a_notice_stays_until_somebody_dismisses_it(tmp_path: Path) -> None:
    """The same words twice are one notice."""
    with tablet(tmp_path / "t.sqlite") as store:
        store.notices.post("new_identity", "twin", NOW)
        store.notices.post("new_identity", "twin", NOW)
        (notice,) = store.notices.all
        store.notices.dismiss(notice.number)
        assert store.notices.all == ()


def _note(store: Store, name: str, count: int) -> None:
    for number in range(count):
        recorder(store).note("T01", f"{name} {number}")
