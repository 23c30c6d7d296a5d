"""A server works out ahead what pages take longest for, follows what arrives, and stops when it is told to."""

import threading
import time
from collections.abc import Callable

import pytest

from server.pages import warming
from server.pages.warming import Warming
from server.store.engine import make_engine
from server.store.record import RecordStore
from tests.server.conftest import Nursery
from tests.server.small_nursery import fill

PATIENCE_S = 60


def wait_for(held: Callable[[], bool]) -> None:
    """Until it holds, or a minute has passed."""
    until = time.monotonic() + PATIENCE_S
    while not held():
        assert time.monotonic() < until
        time.sleep(0.01)


@pytest.fixture
def steps(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How often everything was followed up, and by how many steps."""
    done: list[int] = []
    of_old = Warming.follow_up

    def follow_up(self: Warming) -> None:
        of_old(self)
        done.append(1)

    monkeypatch.setattr(Warming, "follow_up", follow_up)
    monkeypatch.setattr(warming, "PAUSE_S", 0.01)
    return done


def test_what_arrives_is_followed_up_once(nursery: Nursery, steps: list[int]) -> None:
    """At the start, and again when something came; not while nothing comes."""
    _, store = nursery
    boats = fill(store)
    thread = Warming(store)
    thread.begin()
    wait_for(lambda: len(steps) == 1)
    time.sleep(0.2)
    assert len(steps) == 1
    boats.ana.saw("T1-090", "T1/5.2.5", "alive")
    boats.ana.back()
    wait_for(lambda: len(steps) >= 2)
    thread.end()
    assert "warming" not in {one.name for one in threading.enumerate()}


def test_a_nursery_without_anything_is_followed_up_too(nursery: Nursery, steps: list[int]) -> None:
    """A server that was just installed."""
    thread = Warming(nursery[1])
    thread.begin()
    wait_for(lambda: len(steps) == 1)
    thread.end()


def test_a_database_that_cannot_be_read_ends_nothing(nursery: Nursery, steps: list[int]) -> None:
    """Whoever asks for a page is told; the thread looks again later, and ends when it is told to."""
    away = make_engine("sqlite:////nowhere/at/all.sqlite")
    thread = Warming(RecordStore(away, nursery[1].nursery))
    thread.begin()
    time.sleep(0.2)
    assert "warming" in {one.name for one in threading.enumerate()}
    thread.end()
    assert not steps
    away.dispose()
