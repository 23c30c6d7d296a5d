"""Servers restored from old backups, entries that disks damaged, programs of other ages: the record heals itself."""

import json
from pathlib import Path

import pytest

from mobile.identity import Identity
from mobile.store import Store
from shared_schema.errors import BadFrame
from tests.mobile.fake_server import FakeServer
from tests.mobile.nursery import NURSERY, SURVEY, lines_of, recorder, small_nursery, tablet
from tests.mobile.syncing import OFFICE, a_server, held_by, syncing


def test_a_server_restored_from_an_old_backup_gets_everything_again(tmp_path: Path) -> None:
    """The tablets' own entries, and those of others that a tablet still holds, the office's too."""
    server = a_server("k7f3qz", "w3w3w3")
    with tablet(tmp_path / "a.sqlite") as a, tablet(tmp_path / "b.sqlite", "w3w3w3") as b:
        recorder(a).mark("T01/1.1.1", status="bleached")
        recorder(b, "ben").sign_off("T01/2")
        for store in (a, b, a):
            syncing(store, server).run()
        before = server.lines()
        server.restore({"officeab": 20, "w3w3w3": 2})
        recorder(a).mark("T01/1.1.2", status="sick")
        outcome = syncing(a, server).run()
        assert outcome.state == "in_step"
        assert server.lines() == sorted([*before, *(line for line in held_by(a) if b'"k7f3qz-2"' in line)])
        assert [notice.sort for notice in a.notices.all] == ["server_restored"]
        for store in (b, a):
            assert syncing(store, server).run().state == "in_step"
        assert held_by(a) == held_by(b) == server.lines()


def test_a_restored_server_that_accepts_nothing_before_the_gap_says_where_to_begin(tmp_path: Path) -> None:
    """The tablet has new entries and the server lost older ones: it goes back to where the server wants it."""
    server = a_server()
    with tablet(tmp_path / "t.sqlite") as store:
        recorder(store).mark("T01/1.1.1", status="alive")
        recorder(store).mark("T01/1.1.2", status="alive")
        syncing(store, server).run()
        server.restore({"officeab": len(OFFICE), "k7f3qz": 1})
        recorder(store).mark("T01/1.1.3", status="alive")
        assert syncing(store, server).run().state == "in_step"
        assert server.heads()["k7f3qz"] == 3


@pytest.mark.parametrize(
    "damage", [b"\x00\x01 not json", b'{"id":"k7f3qz-9"}', b'{"broken":\n"in two"}', b'{"id":"k7f3qz-2","kind":7}']
)
def test_an_entry_that_the_disk_damaged_never_holds_up_those_after_it(tmp_path: Path, damage: bytes) -> None:
    """Its number is used, what is left of it is kept for the office, and the crew is told."""
    server = a_server()
    with tablet(tmp_path / "t.sqlite") as store:
        for place in ("T01/1.1.1", "T01/1.1.2", "T01/1.1.3"):
            recorder(store).mark(place, status="sick")
        with store.database.writing():  # no replay of entries can damage a disk
            store.database.run("UPDATE entry SET raw = ? WHERE writer = 'k7f3qz' AND number = 2", (damage,))
        assert syncing(store, server).run().state == "in_step"
        assert server.heads()["k7f3qz"] == 3
        assert held_by(store) == server.lines()
        readable = damage.startswith(b'{"id":"k7f3qz-2"')
        assert [notice.sort for notice in store.notices.all] == ([] if readable else ["damaged_entry"])


def test_a_line_that_only_the_server_cannot_make_out_is_wrapped(tmp_path: Path) -> None:
    """A stricter server names the line; the tablet wraps that entry and goes on."""
    server = a_server()
    strict = server._store

    def refuse(lines: list[bytes]) -> int:
        for place, line in enumerate(lines, start=2):
            if b"T01/1.1.2" in line:
                raise BadFrame("no", place)
        return strict(lines)

    server._store = refuse  # type: ignore[method-assign]  # a server that is stricter than any real one
    with tablet(tmp_path / "t.sqlite") as store:
        for place in ("T01/1.1.1", "T01/1.1.2", "T01/1.1.3"):
            recorder(store).mark(place, status="sick")
        assert syncing(store, server).run().state == "in_step"
        assert [json.loads(line)["kind"] for line in server.entries["k7f3qz"]] == ["condition_seen", "damaged", "condition_seen"]
        assert [one.id for one in store.set_aside()] == ["k7f3qz-2"]


def test_what_a_newer_program_wrote_passes_through_byte_for_byte(tmp_path: Path) -> None:
    """A tablet that cannot read an entry still carries it back to a server that lost it."""
    strange = b'{"id":"x2x2x2-1","kind":"moon_seen","v":9,"subject":"moon:full"}'
    server = FakeServer([*OFFICE, strange])
    server.admit("k7f3qz")
    with tablet(tmp_path / "t.sqlite") as store:
        assert syncing(store, server).run().received == 1
        server.restore({"officeab": len(OFFICE)})
        assert syncing(store, server).run().state == "in_step"
        assert strange in server.lines()


def test_an_entry_of_somebody_else_that_differs_is_said_and_not_stored(tmp_path: Path) -> None:
    """Two contents under one foreign id: this tablet cannot know which is right, and keeps what it has."""
    server = a_server()
    with tablet(tmp_path / "t.sqlite") as store:
        before = held_by(store)
        server.entries["officeab"] = [line.replace(b"Ana", b"Eve") for line in server.entries["officeab"]]
        server.entries["officeab"].append(b'{"id":"officeab-99","kind":"x"}')
        outcome = syncing(store, server).run()
        assert outcome.state == "failed"
        assert held_by(store) == before


def test_a_server_that_talks_in_circles_is_left(tmp_path: Path) -> None:
    """Bounded, whatever the other side does."""
    server = a_server()
    server.batch = 0
    server.entries["w3w3w3"] = [b'{"id":"w3w3w3-1","kind":"x"}']
    with tablet(tmp_path / "t.sqlite") as store:
        outcome = syncing(store, server).run()
        assert outcome.state == "refused"
        assert "circles" in outcome.detail
        assert len(server.requests) < 10


def test_a_tablet_that_holds_others_entries_in_part_offers_no_more_than_it_has_without_a_gap(tmp_path: Path) -> None:
    """A pack brings only what matters: what lies between is not there to give, and the server is not bothered with it."""
    server = FakeServer(lines_of(small_nursery(("T01", "T02", "T03"))))
    server.admit("k7f3qz")
    with Store(tmp_path / "t.sqlite") as store:
        with store.database.writing():
            store.identities.add(Identity("k7f3qz", "token-k7f3qz", NURSERY, "Reef Bay", "http://server"))
        syncing(store, server).load_pack(SURVEY, ["T02"])
        whole = server.lines()
        server.restore({"officeab": 2})
        assert syncing(store, server).run().state == "in_step"
        assert server.heads()["officeab"] == 4  # genet and survey; the next ones are of T01
        assert set(server.lines()) < set(whole)
        assert all(request.url.path != "/api/identity" for request in server.requests)
