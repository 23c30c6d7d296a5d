"""Two server processes on one database, and processes that are killed: nothing is lost, nothing doubled."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from datetime import UTC, datetime

import httpx
import pytest

from server.settings import Settings
from server.store.checking import check_record
from server.store.opening import nursery_of
from server.store.record import RecordStore
from server.store.tablets import Credentials, enrol, new_code
from shared_schema.author import Author
from shared_schema.entries import ConditionSeen, write_entry
from shared_schema.facts import LIVING
from shared_schema.wire import PROTOCOL, ExchangeAnswer, ExchangeAsk, frame, unframe
from tests.server.running import free_port

Nursery = tuple[Settings, RecordStore]

STATUSES = sorted(LIVING)


@contextmanager
def workers(settings: Settings, number: int = 2) -> Iterator[tuple[str, subprocess.Popen[bytes]]]:
    """The address of a server of several processes, and the process that heads them."""
    port = free_port()
    command = ["-m", "uvicorn", "--factory", "server.main:from_environment", "--port", str(port), "--workers", str(number)]
    told = {"CROSSTREE_DATA": str(settings.data), "CROSSTREE_DATABASE_URL": settings.database_url}
    with subprocess.Popen(
        [sys.executable, *command, "--log-level", "error"], env=os.environ | told, start_new_session=True
    ) as process:
        try:
            url = f"http://127.0.0.1:{port}"
            wait_for(url)
            yield url, process
        finally:
            os.killpg(process.pid, signal.SIGKILL)


def wait_for(url: str) -> None:
    """Come back when the server answers."""
    for _ in range(1200):
        try:
            httpx.get(f"{url}/api")
        except httpx.TransportError:
            time.sleep(0.05)
        else:
            return
    message = f"no server at {url} after a minute"
    raise TimeoutError(message)


def push(url: str, nursery: str, me: Credentials, seed: int, batches: int) -> None:
    """What one tablet says of thirty corals that all the others report on too, batch by batch, each sent twice."""
    author = Author(me.writer, 0, f"diver{seed}", lambda: datetime(2026, 11, 20, 9, tzinfo=UTC))
    with httpx.Client(base_url=url, headers={"Authorization": f"Bearer {me.token}"}, timeout=60) as client:
        for batch in range(batches):
            author.written.clear()
            for coral in range(30):
                status = STATUSES[(seed + batch + coral) % len(STATUSES)]
                author.write(ConditionSeen, f"fragment:F{coral}", f"2026-{batch % 3 + 1:02d}", status=status)
            ask = ExchangeAsk(
                protocol=PROTOCOL, nursery=nursery, writer=me.writer, heads={me.writer: author.last}, clock=datetime.now(UTC)
            )
            body = frame(ask, [write_entry(entry) for entry in author.written])
            for _ in range(2):
                answer = client.post("/api/exchange", content=body)
                assert answer.status_code == 200, answer.text
                assert unframe(answer.content, ExchangeAnswer)[0].heads[me.writer] == author.last


def test_two_workers_under_concurrent_pushes_lose_nothing(nursery: Nursery) -> None:
    """Six tablets push at once about the same corals: every entry is there, and the read tables equal the fold."""
    settings, store = nursery
    tablets = [enrol(store, new_code(store)[0], f"tablet {number}") for number in range(6)]
    name = nursery_of(store).name_id
    with workers(settings) as (url, _), ThreadPoolExecutor(len(tablets)) as pool:
        jobs = [pool.submit(push, url, name, me, seed, 5) for seed, me in enumerate(tablets)]
        for job in jobs:
            job.result()
    check = check_record(store)
    assert check.wrong == ()
    assert check.entries == len(tablets) * 5 * 30
    assert store.heads() == {me.writer: 150 for me in tablets}


@pytest.mark.parametrize("after_s", [0.0, 0.02, 0.08])
def test_a_server_killed_in_the_middle_of_a_push_ends_in_the_same_state(lite: Nursery, after_s: float) -> None:
    """Whatever the moment, sending again stores what is lacking, once."""
    settings, store = lite
    me = enrol(store, new_code(store)[0], "tablet")
    author = Author(me.writer, 0, "ana", lambda: datetime(2026, 11, 20, 9, tzinfo=UTC))
    for coral in range(2_000):
        author.write(ConditionSeen, f"fragment:F{coral}", "2026-11", status="alive")
    ask = ExchangeAsk(
        protocol=PROTOCOL,
        nursery=nursery_of(store).name_id,
        writer=me.writer,
        heads={me.writer: author.last},
        clock=datetime.now(UTC),
    )
    body = frame(ask, [write_entry(entry) for entry in author.written])
    headers = {"Authorization": f"Bearer {me.token}"}
    with workers(settings, 1) as (url, process), ThreadPoolExecutor(1) as pool:
        sent = pool.submit(httpx.post, f"{url}/api/exchange", content=body, headers=headers, timeout=60)
        time.sleep(after_s)
        os.killpg(process.pid, signal.SIGKILL)
        outcome = sent.exception()
        assert outcome is None or isinstance(outcome, httpx.TransportError)
    assert store.heads().get(me.writer, 0) in {0, 2_000}
    with workers(settings, 1) as (url, _):
        answer = httpx.post(f"{url}/api/exchange", content=body, headers=headers, timeout=60)
        assert unframe(answer.content, ExchangeAnswer)[0].heads[me.writer] == 2_000
    check = check_record(store)
    assert (check.wrong, check.entries) == ((), 2_000)
