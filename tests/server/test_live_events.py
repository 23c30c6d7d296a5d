"""An open page hears of what arrives through the exchange while it is open, and no more once its session is ended."""

import json
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from queue import Queue

import httpx
import pytest

from mobile.identity import Identity
from mobile.store import Store
from mobile.sync import Sync
from server.access.sessions import end_session, list_sessions
from server.access.trail import COMMAND_LINE
from server.review.arrivals import read_brought
from server.store.opening import nursery_of
from server.store.record import RecordStore
from server.store.tablets import enrol, new_code
from shared_schema.author import Author
from shared_schema.entries import ConditionSeen
from tests.server.conftest import Nursery
from tests.server.running import running
from tests.server.small_nursery import NOW, SITE_MORNING, fill
from tests.server.visitor import Visitor

PATIENCE_S = 30.0
Event = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class Office:
    """A running office with somebody who signed in, and a folder for tablets."""

    url: str
    store: RecordStore
    visitor: Visitor
    folder: Path


@pytest.fixture
def office(lite: Nursery, tmp_path: Path) -> Iterator[Office]:
    """The small nursery, after its two boats are back."""
    settings, store = lite
    fill(store)
    with running(settings) as (url, _):
        yield Office(url, store, Visitor(url, store), tmp_path)


def sync_some(office: Office, name: str, corals: int) -> None:
    """A new tablet sees this many corals, and syncs as tablets do."""
    made, nursery = enrol(office.store, new_code(office.store)[0], name), nursery_of(office.store)
    held = Store(office.folder / f"{name}.sqlite")
    held.identities.add(Identity(made.writer, made.token, nursery.name_id, nursery.name, office.url))
    author = Author(made.writer, 0, "ana", lambda: SITE_MORNING)
    held.write_own(
        [author.write(ConditionSeen, f"fragment:T1-{number:03}", NOW, status="alive") for number in range(90, 90 + corals)]
    )
    with httpx.Client(timeout=60) as client:
        outcome = Sync(held, client, lambda: datetime.now(UTC), time.sleep).run()
    assert outcome.state == "in_step", outcome
    held.close()


@contextmanager
def listening(office: Office, since: int, last: str = "") -> Iterator["Queue[Event | None]"]:
    """What an open page hears, one (event, number, text) after the other; None is the end of the stream."""
    heard: Queue[Event | None] = Queue()
    begun = threading.Event()

    def listen() -> None:
        headers = {"Last-Event-ID": last} if last else {}
        address = f"{office.url}/live?since={since}"
        with httpx.stream("GET", address, cookies=office.visitor.cookies, headers=headers, timeout=PATIENCE_S) as answer:
            begun.set()
            said: dict[str, str] = {}
            for line in answer.iter_lines():
                name, _, value = line.partition(": ")
                if line == "" and "event" in said:
                    heard.put((said["event"], said.get("id", ""), json.loads(said["data"])))
                said = {} if line == "" else said | {name: value}
        heard.put(None)

    thread = threading.Thread(target=listen)
    thread.start()
    assert begun.wait(PATIENCE_S)
    yield heard
    thread.join(PATIENCE_S)
    assert not thread.is_alive()


def end_sessions(office: Office) -> None:
    """As a supervisor does with somebody who left a browser open."""
    for session in list_sessions(office.store, "ines"):
        end_session(office.store, session.session, COMMAND_LINE, anyones=True)


def test_a_sync_is_told_to_open_pages_with_how_much_came_and_from_whom(office: Office) -> None:
    """One event for each arrival, numbered by what is held; the end of the session ends the stream with a word."""
    held = read_brought(office.store).total
    with listening(office, held) as heard:
        sync_some(office, "Blue", 3)
        assert heard.get(timeout=PATIENCE_S) == ("arrived", str(held + 3), "3 new entries arrived (Blue)")
        sync_some(office, "White", 1)
        kind, number, text = heard.get(timeout=PATIENCE_S) or ("", "", "")
        assert (kind, number) == ("arrived", str(held + 4))
        assert text.startswith("4 new entries arrived")
        end_sessions(office)
        kind, _, text = heard.get(timeout=PATIENCE_S) or ("", "", "")
        assert kind == "ended"
        assert "signed out" in text
        assert heard.get(timeout=PATIENCE_S) is None


def test_a_browser_that_comes_back_hears_what_it_missed_at_once(office: Office) -> None:
    """By the number of the last event that it heard; what the office itself wrote is no news."""
    held = read_brought(office.store).total
    sync_some(office, "Blue", 2)
    with listening(office, 0, last=str(held)) as heard:
        kind, number, text = heard.get(timeout=PATIENCE_S) or ("", "", "")
        assert (kind, number) == ("arrived", str(held + 2))
        assert text.startswith("2 new entries arrived")
        end_sessions(office)
        assert (heard.get(timeout=PATIENCE_S) or ("",))[0] == "ended"


def test_who_is_signed_out_hears_nothing(office: Office) -> None:
    """Nor does a browser that comes back after its session was ended."""
    end_sessions(office)
    answer = httpx.get(f"{office.url}/live", cookies=office.visitor.cookies)
    assert answer.status_code == 403
    assert "arrived" not in answer.text
