"""What tests of the sync share: a server that knows its tablets, and a tablet's sync that waits for nothing."""

from collections.abc import Callable

from mobile.store import Store
from mobile.sync import Sync
from tests.mobile.fake_server import FakeServer, Fault, lost_answer, no_connection, server_error
from tests.mobile.nursery import Ticking, lines_of, small_nursery

__all__ = ["FAULTS", "OFFICE", "Slept", "a_server", "held_by", "syncing"]

OFFICE = lines_of(small_nursery())
FAULTS: list[Fault | None] = [None, no_connection, lost_answer, server_error]


class Slept:
    """A sleep that takes no time and remembers."""

    def __init__(self) -> None:
        self.waits: list[float] = []

    def __call__(self, seconds: float) -> None:
        """Sleep."""
        self.waits.append(seconds)


def syncing(store: Store, server: FakeServer, sleep: Callable[[float], None] | None = None, tries: int = 6) -> Sync:
    """A tablet's sync, without jitter."""
    return Sync(store, server.client(), Ticking(), sleep or Slept(), jitter=lambda wait: wait, tries=tries)


def a_server(*writers: str) -> FakeServer:
    """A server that holds the small nursery and knows these tablets."""
    server = FakeServer(OFFICE)
    for writer in writers or ("k7f3qz",):
        server.admit(writer)
    return server


def held_by(store: Store) -> list[bytes]:
    """All that a tablet holds, in the order of bytes."""
    return list(store.every_line())
