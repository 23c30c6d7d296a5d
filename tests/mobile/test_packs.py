"""Packs: what a tablet loads before a dive, over a network that breaks, and whether the boat can leave."""

from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import httpx
import pytest

from mobile.digest import digest_of
from mobile.identity import Identity
from mobile.packs import Packs
from mobile.readiness import ENOUGH_BYTES, check_readiness
from mobile.store import Store
from shared_schema.entries import ConditionSeen
from shared_schema.errors import HashMismatch, StorageError, Unreachable
from tests.mobile.fake_server import FakeServer, Fault
from tests.mobile.nursery import NURSERY, SURVEY, lines_of, office_author, recorder, small_nursery, tablet
from tests.mobile.syncing import a_server, syncing

ENTRIES = small_nursery(("T01", "T02", "T03"))


def _server() -> FakeServer:
    server = FakeServer(lines_of(ENTRIES))
    server.admit("k7f3qz")
    return server


def _bare(path: Path) -> Store:
    """A tablet that was just enrolled and holds nothing."""
    store = Store(path)
    if store.identities.current is None:
        with store.database.writing():
            store.identities.add(Identity("k7f3qz", "token-k7f3qz", NURSERY, "Reef Bay", "http://server"))
    return store


def test_a_pack_brings_what_a_dive_needs_and_spares_the_rest(tmp_path: Path) -> None:
    """After loading, the structures asked for are whole, the others are not there, and nothing is left to exchange."""
    server = _server()
    with _bare(tmp_path / "t.sqlite") as store:
        manifest = syncing(store, server).load_pack(SURVEY, ["T01"])
        assert manifest.structures == ("T01",)
        assert len(store.on_structure("T01").hung) == 12
        assert store.on_structure("T02").hung == ()
        assert store.heads() == server.heads()
        assert syncing(store, server).run().received == 0
        assert list(tmp_path.glob("*.part")) == []


def test_loading_another_structure_asks_for_those_loaded_before_too(tmp_path: Path) -> None:
    """So the new pack speaks for all of them, what happened since included."""
    server = _server()
    with _bare(tmp_path / "t.sqlite") as store:
        syncing(store, server).load_pack(SURVEY, ["T01"])
        later = office_author(len(ENTRIES))
        later.write(ConditionSeen, "fragment:F-T01-1", SURVEY, status="sick", seen_at="T01/1.1.1")
        server.entries["officeab"] += lines_of(later.written)
        manifest = syncing(store, server).load_pack(SURVEY, ["T02"])
        assert manifest.structures == ("T01", "T02")
        assert store.heads() == server.heads()
        assert store.fragment("F-T01-1").standing.value("status") == "sick"
        assert len(store.on_structure("T02").hung) == 12


def test_a_tablet_that_knows_everything_by_exchange_does_not_forget_by_loading_a_pack(tmp_path: Path) -> None:
    """A pack of one tree says nothing of the others: what happened there still comes by exchange."""
    server = _server()
    with _bare(tmp_path / "t.sqlite") as store:
        syncing(store, server).run()
        later = office_author(len(ENTRIES))
        later.write(ConditionSeen, "fragment:F-T02-1", SURVEY, status="sick", seen_at="T02/1.1.1")
        server.entries["officeab"] += lines_of(later.written)
        syncing(store, server).load_pack(SURVEY, ["T01"])
        assert syncing(store, server).run().state == "in_step"
        assert store.fragment("F-T02-1").standing.value("status") == "sick"


def test_a_pack_that_leaves_out_what_was_loaded_before_does_not_speak_for_it(tmp_path: Path) -> None:
    """Should a server send less than was asked for: what happened on the rest still comes by exchange."""
    server = _server()
    with _bare(tmp_path / "t.sqlite") as store:
        syncing(store, server).load_pack(SURVEY, ["T01"])
        later = office_author(len(ENTRIES))
        later.write(ConditionSeen, "fragment:F-T01-1", SURVEY, status="sick", seen_at="T01/1.1.1")
        server.entries["officeab"] += lines_of(later.written)
        make = server._make_pack
        server._make_pack = lambda ask: make(ask.model_copy(update={"structures": ("T02",)}))  # type: ignore[method-assign]
        syncing(store, server).load_pack(SURVEY, ["T02"])
        assert len(store.on_structure("T02").hung) == 12
        assert syncing(store, server).run().state == "in_step"
        assert store.fragment("F-T01-1").standing.value("status") == "sick"


def _broken_after(size: int) -> Fault:
    """The answer's first bytes, then a broken connection."""

    class Breaking(httpx.SyncByteStream):
        def __init__(self, content: bytes) -> None:
            self.content = content

        def __iter__(self) -> Iterator[bytes]:
            yield self.content
            raise httpx.ReadError("the signal is gone")

    def fault(work: Callable[[], httpx.Response]) -> httpx.Response:
        answer = work()
        return httpx.Response(answer.status_code, stream=Breaking(answer.content[:size]))

    return fault


def test_a_fetch_that_breaks_goes_on_where_it_stopped(tmp_path: Path) -> None:
    """On a weak signal every piece that came counts."""
    server = _server()
    server.faults = [None, *[_broken_after(100)] * 5]
    with _bare(tmp_path / "t.sqlite") as store:
        syncing(store, server, tries=2).load_pack(SURVEY, ["T01"])
        assert len(store.on_structure("T01").hung) == 12
        starts = [request.headers["Range"] for request in server.requests[1:]]
        assert starts == [f"bytes={start}-" for start in (0, 100, 200, 300, 400, 500)]


def test_a_fetch_that_was_given_up_goes_on_the_next_time_too(tmp_path: Path) -> None:
    """What came is kept beside the database over a restart."""
    server = _server()
    server.faults = [None, _broken_after(100), _broken_after(0), _broken_after(0)]
    path = tmp_path / "t.sqlite"
    with _bare(path) as store:
        with pytest.raises(Unreachable):
            syncing(store, server, tries=2).load_pack(SURVEY, ["T01"])
        assert store.on_structure("T01").hung == ()
        assert [todo.sort for todo in check_readiness(store, SURVEY, 10**10).todo] == ["load_again"]
    with _bare(path) as store:
        syncing(store, server).load_pack(SURVEY, ["T01"])
        assert server.requests[-1].headers["Range"] == "bytes=100-"
        assert check_readiness(store, SURVEY, 10**10).ready


def test_a_pack_whose_hash_is_wrong_is_thrown_away_unread(tmp_path: Path) -> None:
    """Not a byte of it reaches the store; asking again works."""
    server = _server()
    server.faults = [None, lambda work: httpx.Response(200, content=work().content[:-1] + b"!")]
    with _bare(tmp_path / "t.sqlite") as store:
        with pytest.raises(HashMismatch, match="thrown away"):
            syncing(store, server).load_pack(SURVEY, ["T01"])
        assert list(store.every_line()) == []
        assert Packs(store).all == ()
        syncing(store, server).load_pack(SURVEY, ["T01"])
        assert Packs(store).structures == {"T01"}


def test_a_full_disk_while_loading_leaves_the_tablet_as_it_was(tmp_path: Path) -> None:
    """All of a pack or nothing."""
    server = _server()
    with _bare(tmp_path / "t.sqlite") as store:
        before = digest_of(store)
        pages = store.database.rows("PRAGMA page_count")[0][0]
        store.database.rows(f"PRAGMA max_page_count={pages + 1}")
        with pytest.raises(StorageError, match="make room"):
            syncing(store, server).load_pack(SURVEY, ["T01"])
        assert digest_of(store) == before
        store.database.rows("PRAGMA max_page_count=100000")
        syncing(store, server).load_pack(SURVEY, ["T01"])
        assert len(store.on_structure("T01").hung) == 12


def test_a_pack_that_knows_of_entries_this_tablet_never_wrote_finds_the_twin(tmp_path: Path) -> None:
    """A restored tablet that loads a pack first gets its new name by that."""
    server = _server()
    with _bare(tmp_path / "other.sqlite") as store:
        syncing(store, server).run()
        recorder(store).mark("T01/1.1.1", status="sick")
        syncing(store, server).run()
    with _bare(tmp_path / "restored.sqlite") as store:
        syncing(store, server).load_pack(SURVEY, ["T01"])
        assert store.identities.own.writer != "k7f3qz"
        assert store.fragment("F-T01-1").standing.value("status") == "sick"


def test_the_boat_can_leave_when_all_is_there(tmp_path: Path) -> None:
    """Ready says what was looked at: pack, hash, designs, space, clock."""
    server = _server()
    with _bare(tmp_path / "t.sqlite") as store:
        sync = syncing(store, server)
        assert [todo.sort for todo in sync.readiness(SURVEY).todo if todo.sort != "make_room"] == ["load_pack"]
        sync.load_pack(SURVEY, ["T01"])
        found = check_readiness(store, SURVEY, ENOUGH_BYTES)
        assert (found.ready, found.complete, found.hash_right, found.structures) == (True, True, True, ("T01",))
        assert found.clock_off_s is not None
        assert abs(found.clock_off_s) < timedelta(minutes=1).total_seconds()


def test_what_is_missing_before_a_dive_is_said_with_what_to_do(tmp_path: Path) -> None:
    """Each with a word of its own, for the screen to translate."""
    with Store(tmp_path / "new.sqlite") as store:
        assert [todo.sort for todo in check_readiness(store, SURVEY, 10**10).todo] == ["enrol", "load_pack"]
    server = a_server()
    server.clock_off_s = 4000
    with tablet(tmp_path / "t.sqlite") as store:
        syncing(store, server).run()
        store.take([b'{"id":"x2x2x2-1","kind":"moon_seen","v":1,"subject":"moon:full"}'])
        recorder(store).mark("T01/1.1.1", status="sick")
        found = check_readiness(store, SURVEY, ENOUGH_BYTES - 1)
        sorts = [todo.sort for todo in found.todo]
        assert sorts == ["load_pack", "make_room", "set_clock", "update_program", "send_first"]
        assert not found.ready
        assert all(todo.detail for todo in found.todo)
