"""The tablet against the real server, over real sockets."""

import json
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

import httpx
import pytest

from mobile.day import Day
from mobile.digest import digest_of
from mobile.recorder import Recorder
from mobile.store import Store
from mobile.sync import Sync
from server.registry.surveys import Asked, plan_survey
from server.store.record import RecordStore
from server.store.tablets import new_code, withdraw
from shared_schema.author import Author
from shared_schema.entries import BaseEntry
from shared_schema.errors import NotAllowed
from shared_schema.fold import Finding
from tests.mobile.nursery import SURVEY, small_nursery
from tests.server.running import new_nursery, running

ROOT = Path(__file__).parents[2]
Running = tuple[str, RecordStore]


@pytest.fixture
def nursery(tmp_path: Path) -> Iterator[Running]:
    """A running server with the small nursery, entered by its office."""
    with new_nursery(tmp_path / "server") as (settings, record):
        with record.office("sue") as office:
            for entry in small_nursery():
                _copy(office, entry)
        with running(settings) as (url, _):
            yield url, record


def _copy(office: Author, entry: BaseEntry) -> None:
    fields = {name: value for name, value in entry if name not in BaseEntry.model_fields and name != "kind"}
    office.write(type(entry), entry.subject, entry.survey, **fields)


def _now() -> datetime:
    return datetime.now(UTC)


@contextmanager
def _tablet(path: Path, running_: Running) -> Iterator[tuple[Store, Sync]]:
    url, record = running_
    with Store(path) as store, httpx.Client(timeout=30) as client:
        sync = Sync(store, client, _now, time.sleep)
        if store.identities.current is None:
            sync.enrol(url, new_code(record)[0], path.stem)
        yield store, sync


def _crew(store: Store, by: str) -> Recorder:
    return Recorder(store, SURVEY, by, _now)


def _plain(finding: Finding) -> str:
    """As JSON: a list that was read from a database equals a tuple that was folded."""
    slots = {name: [slot.value, slot.heads, slot.disputed, slot.ruled] for name, slot in finding.slots.items()}
    return json.dumps(slots, sort_keys=True)


def test_two_crews_and_the_office_end_in_step(tmp_path: Path, nursery: Running) -> None:
    """Enrol, load, dive without a network, sync: the same entries and the same findings on tablets and server."""
    with _tablet(tmp_path / "a.sqlite", nursery) as (a, sync_a), _tablet(tmp_path / "b.sqlite", nursery) as (b, sync_b):
        for sync in (sync_a, sync_b):
            assert sync.load_pack(SURVEY).structures == ("T01", "T02")
            assert not [todo for todo in sync.readiness(SURVEY).todo if todo.sort != "make_room"]
        _crew(a, "ana").mark("T01/1.1.1", status="bleached")
        _crew(a, "ana").sign_off("T01/1")
        _crew(b, "ben").mark("T01/1.1.1", status="lost")
        cutting = _crew(b, "ben").replant("T02/1.1.1", "T01/1.1.2").fragment
        for sync in (sync_a, sync_b, sync_a):
            assert sync.run().state == "in_step"
        assert digest_of(a) == digest_of(b)
        record = nursery[1]
        assert record.heads() == a.heads()
        for finding in a.every_finding():
            assert _plain(record.finding(finding.survey, finding.subject)) == _plain(finding)
        assert record.finding(SURVEY, "fragment:F-T01-1").open == ("status",)
        assert record.standing(f"fragment:{cutting}").value("genet") == "G1"


def test_who_goes_by_the_plan_comes_with_the_pack(tmp_path: Path, nursery: Running) -> None:
    """The office plans a survey and names people; a tablet that loads its maps offers them first."""
    _, record = nursery
    plan_survey(record, Asked("2026-12", structures=("T01",), people=("ben",)), by="sue")
    with _tablet(tmp_path / "a.sqlite", nursery) as (store, sync):
        sync.load_pack("2026-12")
        day = Day(store, _now)
        day.choose_survey("2026-12")
        assert day.expected == {"ben"}
        assert [person.name for person in day.people] == ["Ben", "Ana"]


def test_a_pack_and_an_exchange_lead_to_the_same_tablet(tmp_path: Path, nursery: Running) -> None:
    """Loading is a short cut, not another truth."""
    with _tablet(tmp_path / "a.sqlite", nursery) as (a, sync_a), _tablet(tmp_path / "b.sqlite", nursery) as (b, sync_b):
        sync_a.load_pack(SURVEY)
        sync_b.run()
        assert digest_of(a) == digest_of(b)


def test_a_clone_is_caught_by_the_real_server(tmp_path: Path, nursery: Running) -> None:
    """Both twins record on, both sync, and everything that either said is on the server once."""
    one, twin = tmp_path / "one.sqlite", tmp_path / "twin.sqlite"
    with _tablet(one, nursery) as (store, sync):
        sync.run()
        _crew(store, "ana").note("T01", "before")
        sync.run()
        _crew(store, "ana").note("T01", "copied")
        store.database.rows("PRAGMA wal_checkpoint(TRUNCATE)")
        twin.write_bytes(one.read_bytes())
    writer = ""
    for path in (one, twin, one):
        with _tablet(path, nursery) as (store, sync):
            _crew(store, path.stem).note("T01", path.stem)
            assert sync.run().state == "in_step"
            writer = store.identities.own.writer
    with _tablet(one, nursery) as (a, sync_a), _tablet(twin, nursery) as (b, sync_b):
        assert sync_b.run().state == sync_a.run().state == "in_step"
        assert digest_of(a) == digest_of(b)
        assert a.identities.own.writer == writer != b.identities.own.writer
        notes = a.finding(SURVEY, "structure:T01")
        assert notes is not None
        assert sorted(note["text"] for note in notes.value("note")) == ["before", "copied", "one", "one", "twin"]


def test_a_photo_reaches_the_real_server(tmp_path: Path, nursery: Running) -> None:
    """Every byte, under its name."""
    photo = b"\xff\xd8\xff\xe0" + bytes(600_000)
    with _tablet(tmp_path / "a.sqlite", nursery) as (store, sync):
        _crew(store, "ana").photo("T01/1.1.1", photo)
        sha256 = store.photos.waiting()[0][0]
        assert sync.run().photos == 1
        own = store.identities.own
        headers = {"Authorization": f"Bearer {own.token}"}
        assert httpx.get(f"{own.server}/api/photos/{sha256}/bytes", headers=headers).content == photo


def test_a_withdrawn_tablet_is_told_to_ask_the_supervisor(tmp_path: Path, nursery: Running) -> None:
    """And keeps what it has; a code that was used says so."""
    with _tablet(tmp_path / "a.sqlite", nursery) as (store, sync):
        _crew(store, "ana").note("structure:T01", "unsent")
        withdraw(nursery[1], store.identities.own.writer)
        outcome = sync.run()
        assert (outcome.state, outcome.waiting) == ("not_allowed", 1)
        code, _ = new_code(nursery[1])
        sync.enrol(nursery[0], code, "again")
        with pytest.raises(NotAllowed, match="used already"):
            sync.enrol(nursery[0], code, "third")
        assert sync.run().state == "in_step"
        assert nursery[1].heads() == store.heads()


@pytest.mark.parametrize("after_s", [0.25, 0.4, 0.5, 0.6, 0.8])
def test_a_sync_that_is_killed_goes_on_the_next_time(tmp_path: Path, nursery: Running, after_s: float) -> None:
    """kill -9 at any moment of a sync, on the tablet's side: the next one ends in step, nothing twice."""
    path = tmp_path / "a.sqlite"
    with _tablet(path, nursery) as (store, first):
        first.load_pack(SURVEY)
        crew, numbers = _crew(store, "ana"), count()
        for _ in range(60):
            crew.note("T01", f"note {next(numbers)} " + "x" * 2000)
    arguments = [sys.executable, "-m", "mobile", "sync", "--data", str(path)]
    with subprocess.Popen(arguments, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, cwd=ROOT) as process:
        time.sleep(after_s)
        process.kill()
    with _tablet(path, nursery) as (store, sync):
        assert sync.run().state == "in_step"
        assert nursery[1].heads() == store.heads()
        finding = nursery[1].finding(SURVEY, "structure:T01")
        assert len(finding.value("note")) == 60
