"""A tablet was set up once and copied, and nobody noticed before the dive: the day of both crews arrives."""

import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager

import httpx
import pytest

from mobile.outbox import Outbox
from mobile.recorder import Action, Recorder
from mobile.store import Store
from mobile.sync import Sync
from server.store.checking import check_record
from server.store.tablets import withdraw
from tests.faults.ledger import Ledger
from tests.faults.office import Beginning, Office, beginning, never
from tests.faults.weather import Mishap, Weather
from tests.mobile.nursery import SURVEY, Ticking
from tests.scratch import scratch_folder


@pytest.fixture(scope="module")
def start() -> Iterator[Beginning]:
    """One server for all of them."""
    with beginning() as start:
        yield start


class Twins:
    """Tablets with one name, and their server."""

    def __init__(self, start: Beginning, office: Office, stores: list[Store], weather: Weather, client: httpx.Client) -> None:
        self.start, self.office, self.stores, self.weather, self.client = start, office, stores, weather, client
        self.ledger, self._clock = Ledger(), Ticking()

    def record(self, which: int, by: str) -> None:
        """A short dive: a mark, a coral that is planted, marked and measured, a mark again, and a deed taken back."""
        store = self.stores[which]
        planted = f"{store.identities.own.writer}-{store.last(store.identities.own.writer) + 2}"
        deeds: list[Callable[[Recorder], Action | None]] = [
            lambda crew: crew.mark("T01/1.1.1", status="sick"),
            lambda crew: crew.plant("ground", "T01/1.1.2"),
            lambda crew: crew.mark(planted, status="alive"),
            lambda crew: crew.mark("T01/1.1.1", status=("dead", "alive", "bleached")[which]),
            lambda crew: crew.undo(),
            lambda crew: crew.measure(planted, length_mm=40 + which),
        ]
        for deed in deeds:
            crew = Recorder(store, SURVEY, by, self._clock, self.ledger.next_deed())
            done = deed(crew)
            assert done is not None
            self.ledger.note(store, done)

    def sync(self, which: int, tries: int = 2) -> Sync:
        """Its sync."""
        return Sync(self.stores[which], self.client, self._clock, never, tries=tries)

    def copied(self, which: int) -> Store:
        """One more of the same name."""
        store = self.stores[which]
        store.database.rows("PRAGMA wal_checkpoint(TRUNCATE)")
        path = store.path.with_name(f"{len(self.stores)}.sqlite")
        shutil.copy(store.path, path)
        self.stores.append(Store(path))
        return self.stores[-1]

    def compare(self) -> None:
        """All hold everything that anybody said, once, and the server adds up."""
        lines = sorted(self.office.lines())
        self.ledger.check(lines)
        for store in self.stores:
            assert list(store.every_line()) == lines
            assert store.heads() == self.office.record.heads()
            assert Outbox(store).waiting == 0
        assert check_record(self.office.record).wrong == ()

    def enrol(self, which: int) -> None:
        """The supervisor gives it a code."""
        self.sync(which).enrol(self.start.url, self.office.code(), f"tablet {which}")


@contextmanager
def twins(start: Beginning, unsent: bool) -> Iterator[Twins]:
    """Copied before the dive, perhaps with something on it that was not sent."""
    with ExitStack() as opened:
        folder = opened.enter_context(scratch_folder())
        office = Office.begin(start, folder)
        opened.callback(office.close)
        weather = Weather()
        client = opened.enter_context(httpx.Client(transport=weather, timeout=60))
        shutil.copy(start.tablets["blue"], folder / "0.sqlite")
        made = Twins(start, office, [opened.enter_context(Store(folder / "0.sqlite"))], weather, client)
        if unsent:
            made.record(0, "ana")
        opened.enter_context(made.copied(0))
        yield made


@pytest.mark.parametrize(("unsent", "mishap"), [(False, "lost"), (True, "unanswered")])
@pytest.mark.parametrize("again", [(0, 1), (1,), (0,)])
def test_twins_that_are_enrolled_again_before_they_sync_lose_nothing(
    start: Beginning, unsent: bool, mishap: Mishap, again: tuple[int, ...]
) -> None:
    """Both used the same numbers under the old name: what the second one says goes over to its new name."""
    with twins(start, unsent) as both:
        both.record(0, "ana")
        both.record(1, "ben")
        both.weather.mishaps = [mishap]
        assert both.sync(0, tries=1).run().state == "unreachable"
        if len(again) == 2:
            withdraw(both.office.record, both.stores[0].identities.own.writer)
        for which in again:
            both.enrol(which)
        both.record(0, "ana")
        both.record(1, "ben")
        for which in (0, 1, 0):
            assert both.sync(which).run().state == "in_step"
        both.compare()
        told = [notice.sort for store in both.stores for notice in store.notices.all]
        assert told == ["new_identity"]


@pytest.mark.parametrize("again", [(), (1,), (1, 2, 2)])
@pytest.mark.parametrize("order", [(0, 1, 2), (0, 2, 1), (1, 0, 2), (2, 1, 0)])
def test_what_two_of_three_copies_share_arrives_once(start: Beginning, order: tuple[int, ...], again: tuple[int, ...]) -> None:
    """A copy that wrote and did not sync was copied once more: neither of the two knows of the other, whoever comes first."""
    with twins(start, unsent=True) as three:
        three.record(0, "ana")
        three.record(1, "ben")
        with three.copied(1):
            three.record(1, "ben")
            three.record(2, "ana")
            for which in again:
                three.enrol(which)
                three.record(which, "ben")
            for which in (*order, *order):
                assert three.sync(which).run().state == "in_step"
            three.compare()
