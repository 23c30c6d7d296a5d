"""The rates of syncing: pushing, pulling, bytes on the wire. Compare ratios of one run only.

Run by hand on a quiet machine: `pytest tests/bench/test_exchange.py -s`.
"""

import gzip
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import httpx
import pytest

from mobile.identity import Identity
from mobile.store import Store
from mobile.sync import Sync
from server.settings import Settings
from server.store.checking import check_record
from server.store.engine import make_engine, writing
from server.store.models import EntryRow
from server.store.opening import create_nursery, nursery_of
from server.store.record import RecordStore
from server.store.tablets import enrol, new_code
from shared_schema.entries import write_entry
from tests.bench.survey import observe
from tests.server.test_workers import workers

ENTRIES = 100_000
BATCH = 5_000


@pytest.fixture
def served(tmp_path: Path) -> Iterator[tuple[str, RecordStore]]:
    """A server of its own process over a new nursery on SQLite."""
    settings = Settings.of(tmp_path, f"sqlite:///{tmp_path / 'nursery.sqlite'}")
    store = create_nursery(settings, "bench")
    with workers(settings, 1) as (url, _):
        yield url, store
    store.engine.dispose()


def tablet(path: Path, url: str, store: RecordStore) -> Store:
    """A new tablet, enrolled."""
    made = enrol(store, new_code(store)[0], path.name)
    held = Store(path)
    nursery = nursery_of(store)
    held.identities.add(Identity(made.writer, made.token, nursery.name_id, nursery.name, url))
    return held


def sync(held: Store) -> float:
    """Seconds until nothing is left to exchange."""
    with httpx.Client(timeout=120) as client:
        started = time.perf_counter()
        outcome = Sync(held, client, lambda: datetime.now(UTC), time.sleep).run()
        took = time.perf_counter() - started
    assert outcome.state == "in_step", outcome
    return took


def bare_insert(path: Path, lines: list[bytes]) -> float:
    """Seconds that SQLAlchemy Core takes to insert the same entries, and nothing else, in the same batches."""
    create_nursery(Settings.of(path, f"sqlite:///{path / 'bare.sqlite'}"), "bare").engine.dispose()
    engine = make_engine(f"sqlite:///{path / 'bare.sqlite'}")
    table = EntryRow.__table__  # type: ignore[attr-defined]
    rows = [
        {"nursery": 1, "writer": "w", "number": number, "survey": "2026-11", "subject": f"fragment:F{number}", "raw": line}
        | {"received": 1, "via": "w", "clock_off_s": 0, "set_aside": None}
        for number, line in enumerate(lines, 1)
    ]
    started = time.perf_counter()
    for start in range(0, len(rows), BATCH):
        with writing(engine) as connection:
            connection.execute(table.insert(), rows[start : start + BATCH])
    took = time.perf_counter() - started
    engine.dispose()
    return took


def test_pushing_and_pulling_a_hundred_thousand_entries(tmp_path: Path, served: tuple[str, RecordStore]) -> None:
    """Through a real server and real tablets; the bare insert beside it says what this machine can do."""
    url, store = served
    first, second = tablet(tmp_path / "first.sqlite", url, store), tablet(tmp_path / "second.sqlite", url, store)
    rates: dict[str, float] = {}
    writer, last = first.identities.own.writer, 0
    lines: list[bytes] = []
    for survey in ("2026-10", "2026-11"):
        entries = list(observe(writer, survey, ENTRIES, last))
        last += len(entries)
        lines = [write_entry(entry) for entry in entries]
        for start in range(0, len(entries), 10_000):
            first.write_own(entries[start : start + 10_000])
        rates[f"push {survey}"] = ENTRIES / sync(first)
        rates[f"pull {survey}"] = ENTRIES / sync(second)
    rates["bare insert"] = ENTRIES / bare_insert(tmp_path, lines)
    packed = sum(len(gzip.compress(b"\n".join(lines[start : start + BATCH]), 6)) for start in range(0, len(lines), BATCH))
    for what, rate in rates.items():
        print(f"{what:14}{rate:10,.0f}/s{rate / rates['bare insert']:8.2f} of a bare insert")  # noqa: T201
    print(f"{packed / len(lines):.1f} bytes an entry, compressed; {sync(second) * 1000:.0f} ms for nothing new")  # noqa: T201
    assert packed / len(lines) < 60
    assert second.heads() == first.heads() == store.heads()
    assert check_record(store).wrong == ()
