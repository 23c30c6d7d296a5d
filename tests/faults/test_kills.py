"""kill -9 at any moment of a sync, on either side: started again, both end in the same state, with nothing lost or doubled."""

import multiprocessing
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final, TypeAlias

import httpx
import pytest
import uvicorn

from mobile.digest import digest_of
from mobile.identity import Identity
from mobile.store import Store
from mobile.sync import Sync
from server.main import create_app
from server.settings import Settings
from server.store.checking import check_record
from server.store.opening import nursery_of
from server.store.record import RecordStore
from server.store.tablets import enrol, new_code
from shared_schema.author import Author
from shared_schema.entries import ConditionSeen, read_entry, write_entry
from tests.faults.cable import Cable, Way, laid_cable
from tests.scratch import scratch_folder
from tests.server.running import free_port, new_nursery
from tests.server.test_workers import wait_for

ROOT: Final = Path(__file__).parents[2]
EACH: Final = 2_500
"""Entries that go up, and as many that come down."""
Moments: TypeAlias = list[tuple[Way, float, float]]
"""Which way, after which share of the request or of the answer, and how many seconds later."""
OF_A_TABLET: Final[Moments] = [("up", 0.4, 0), ("up", 1, 0), ("down", 0.5, 0), ("down", 1, 0), ("down", 1, 0.05)]
"""While it sends, while it waits, while it receives, and while it writes down what came."""
OF_A_SERVER: Final[Moments] = [("up", 1, 0), ("up", 1, 0.03), ("down", 0, 0), ("down", 0.5, 0)]
"""When it has heard everything, while it writes that down, and while it answers."""


PROCESSES: Final = multiprocessing.get_context("forkserver")
PROCESSES.set_forkserver_preload(["server.main", "uvicorn"])  # most of a start is importing


def serve(settings: Settings, port: int) -> None:
    """What a server process does."""
    uvicorn.run(create_app(settings), host="127.0.0.1", port=port, log_level="error", lifespan="off")


@dataclass
class Both:
    """A tablet and a server that each hold what the other lacks."""

    settings: Settings
    record: RecordStore
    tablet: Path
    cable: Cable
    lines: list[bytes]

    @contextmanager
    def serve(self) -> Iterator[Callable[[], None]]:
        """A server process at the end of the cable; gives what kills it."""
        port = free_port()
        process = PROCESSES.Process(target=serve, args=(self.settings, port))
        process.start()
        try:
            wait_for(f"http://127.0.0.1:{port}")
            self.cable.port = port
            yield process.kill
        finally:
            process.kill()
            process.join()
            process.close()

    @contextmanager
    def sync(self) -> Iterator[subprocess.Popen[bytes]]:
        """A tablet's process that syncs."""
        command = [sys.executable, "-m", "mobile", "sync", "--data", str(self.tablet)]
        with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL) as process:
            try:
                yield process
            finally:
                process.kill()

    def check(self) -> None:
        """Both hold all, once, and show the same."""
        check = check_record(self.record)
        assert (check.wrong, check.entries) == ((), 2 * EACH)
        assert sorted(self.record.lines_after({}, 1_000_000, 1 << 40)[0]) == self.lines
        with Store(self.tablet) as store, Store(self.tablet.with_name("other.sqlite")) as other:
            other.take(self.lines)
            assert (store.identities.own.acknowledged, store.notices.all) == (EACH, ())
            assert digest_of(store) == digest_of(other)


@pytest.fixture
def both() -> Iterator[Both]:
    """A tablet back from a long dive, and a server to which another one came before."""
    with scratch_folder() as folder, new_nursery(folder / "server") as (settings, record), laid_cable() as cable:
        both = Both(settings, record, folder / "t.sqlite", cable, seen_by("m2w8rd", "ben"))
        record.receive(both.lines, "m2w8rd")
        with Store(both.tablet) as store:
            me = enrol(record, new_code(record)[0], "tablet")
            mine = seen_by(me.writer, "ana")
            with store.database.writing():
                store.identities.add(Identity(me.writer, me.token, nursery_of(record).name_id, "Test nursery", cable.url))
                store.write_own([read_entry(line) for line in mine])
        both.lines = sorted([*both.lines, *mine])
        yield both


def seen_by(writer: str, by: str) -> list[bytes]:
    """What somebody says who has seen a great many corals."""
    author = Author(writer, 0, by, now)
    for number in range(EACH):
        author.write(ConditionSeen, f"fragment:F{number}", "2026-11", status="sick" if number % 5 else "alive")
    return [write_entry(entry) for entry in author.written]


def now() -> datetime:
    """The tablet's clock."""
    return datetime.now(UTC)


def after(seconds: float, kill: Callable[[], None]) -> Callable[[], None]:
    """A kill that comes a little later."""

    def later() -> None:
        time.sleep(seconds)
        kill()

    return later


def test_a_tablet_that_is_killed_at_any_moment_of_a_sync_ends_in_the_same_state(both: Both) -> None:
    """Killed again and again, then left alone: both hold everything once."""
    codes = []
    with both.serve():
        for way, share, later in OF_A_TABLET:
            with both.sync() as tablet:  # it takes longer to start than to plan
                both.cable.plan(way, share, after(later, tablet.kill))
                codes.append(tablet.wait(60))
            if codes[-1] == 0:
                break  # it was faster than the kill, and nothing is left to send
        assert codes[:3] == [-signal.SIGKILL] * 3
        both.cable.forget()
        with both.sync() as tablet:
            assert tablet.wait(60) == 0
    both.check()


def test_a_server_that_is_killed_at_any_moment_of_a_sync_ends_in_the_same_state(both: Both) -> None:
    """Killed again and again under a tablet that gives up each time, then under one that waits until it is there again."""
    with Store(both.tablet) as store, httpx.Client(timeout=60) as client:
        for way, share, later in OF_A_SERVER:
            with both.serve() as kill:
                done = both.cable.plan(way, share, after(later, kill))
                outcome = Sync(store, client, now, time.sleep, tries=1).run()
                assert done.is_set()
                assert (outcome.state, outcome.waiting) == ("unreachable", EACH)
    with both.serve() as kill:
        done = both.cable.plan("up", 0.4, kill)
        with both.sync() as tablet:
            assert done.wait(60)
            with both.serve():
                assert tablet.wait(60) == 0
    both.check()
