"""Tablets and a server that fail in every way a boat knows: nothing is lost, nothing is doubled, all end in step."""

import json
import tempfile
from collections.abc import Callable
from pathlib import Path

import httpx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mobile.digest import digest_of
from mobile.exchange import Round
from mobile.outbox import Outbox
from mobile.store import Store
from mobile.sync import Progress, Sync
from shared_schema.entries import NoteMade
from shared_schema.errors import BadFrame, NotAllowed, Unreachable, WireError
from tests.mobile.fake_server import FakeServer, Fault, lost_answer, no_connection, server_error
from tests.mobile.nursery import SURVEY, Ticking, lines_of, recorder, small_nursery, tablet

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


def test_two_tablets_and_the_server_end_with_the_same_entries_and_the_same_picture(tmp_path: Path) -> None:
    """What one crew saw, the other sees after both have synced; the disagreement is the same on both."""
    server = a_server("k7f3qz", "w3w3w3")
    with tablet(tmp_path / "a.sqlite") as a, tablet(tmp_path / "b.sqlite", "w3w3w3") as b:
        recorder(a, "ana").mark("T01/1.1.1", status="bleached")
        recorder(b, "ben").mark("T01/1.1.1", status="alive")
        recorder(b, "ben").sign_off("T01/2")
        assert syncing(a, server).run().sent == 1
        outcome = syncing(b, server).run()
        assert (outcome.state, outcome.sent, outcome.received, outcome.waiting) == ("in_step", 8, 1, 0)
        assert syncing(a, server).run().received == 8
        assert held_by(a) == held_by(b) == server.lines()
        assert digest_of(a).folded == digest_of(b).folded
        finding = a.finding(SURVEY, "fragment:F-T01-1")
        assert finding is not None
        assert finding.open == ("status",)


Step = tuple[str, int]


@settings(max_examples=40)
@given(
    st.lists(
        st.one_of(
            st.tuples(st.sampled_from(["a", "b"]), st.integers(0, 11)),
            st.tuples(st.sampled_from(["sync a", "sync b"]), st.just(0)),
        ),
        max_size=14,
    ),
    st.lists(st.sampled_from(FAULTS), max_size=30),
    st.integers(1, 4),
)
def test_whatever_breaks_and_in_whatever_order_all_end_in_step(steps: list[Step], faults: list[Fault | None], batch: int) -> None:
    """Connections that break before and after the server's work, retries and small batches lose and double nothing."""
    server = a_server("k7f3qz", "w3w3w3")
    server.faults, server.batch = list(faults), batch
    with (
        tempfile.TemporaryDirectory() as folder,
        tablet(Path(folder) / "a.sqlite") as a,
        tablet(Path(folder) / "b.sqlite", "w3w3w3") as b,
    ):
        stores = {"a": a, "b": b}
        said: list[bytes] = []
        for what, number in steps:
            if what in stores:
                path = f"T01/{number // 6 + 1}.{number // 3 % 2 + 1}.{number % 3 + 1}"
                done = recorder(stores[what], what * 3).mark(path, status="bleached" if what == "a" else "sick")
                said += [stores[what].line(entry.entry_id) or b"" for entry in done.entries]
            else:
                syncing(stores[what[-1]], server, tries=2).run()
        server.faults = []
        for name in ("a", "b", "a"):
            outcome = syncing(stores[name], server).run()
            assert outcome.state == "in_step", outcome
            assert outcome.waiting == 0
        assert held_by(a) == held_by(b) == server.lines() == sorted([*OFFICE, *said])
        assert digest_of(a).folded == digest_of(b).folded


def test_an_entry_counts_as_sent_only_when_the_server_has_said_so(tmp_path: Path) -> None:
    """A lost answer: the tablet still holds it for unsent, sends it again, and the server knows it already."""
    server = a_server()
    server.faults = [lost_answer]
    with tablet(tmp_path / "t.sqlite") as store:
        recorder(store).mark("T01/1.1.1", status="alive")
        sync = syncing(store, server, tries=1)
        with pytest.raises(Unreachable):
            sync.exchange()
        assert server.heads()["k7f3qz"] == 1
        assert Outbox(store).waiting == 1
        assert sync.exchange() == Round(sent=0, received=0, again=False)
        assert Outbox(store).waiting == 0


def test_nothing_new_takes_one_round_trip(tmp_path: Path) -> None:
    """A sync with nothing to do is one request."""
    server = a_server()
    with tablet(tmp_path / "t.sqlite") as store:
        assert syncing(store, server).run().state == "in_step"
        assert len(server.requests) == 1


def test_many_entries_go_in_several_requests(tmp_path: Path) -> None:
    """No request is larger than agreed; each is acknowledged on its own."""
    server = a_server()
    with tablet(tmp_path / "t.sqlite") as store:
        recorder(store).mark_arm("T01/1.1", status="fading")
        recorder(store).mark_arm("T01/1.2", status="fading")
        sync = syncing(store, server)
        sync._outbox.batch = 4
        assert sync.run().sent == 6
        assert len(server.requests) == 2


def test_a_request_that_is_too_large_for_something_on_the_way_is_sent_in_halves(tmp_path: Path) -> None:
    """A proxy with a small limit slows the tablet down, and does not stop it."""
    server = a_server()
    server.faults = [lambda _: httpx.Response(413, text="too large")] * 2
    with tablet(tmp_path / "t.sqlite") as store:
        recorder(store).mark_arm("T01/1.1", status="fading")
        recorder(store).mark_arm("T01/1.2", status="fading")
        assert syncing(store, server).run().state == "in_step"
        assert server.heads()["k7f3qz"] == 6


def test_it_gives_up_after_a_bounded_number_of_tries_waiting_longer_each_time(tmp_path: Path) -> None:
    """The crew is told that nobody answered; later the same run goes through."""
    server, slept, told = a_server(), Slept(), list[Progress]()
    server.faults = [no_connection, server_error, no_connection, server_error]
    with tablet(tmp_path / "t.sqlite") as store:
        recorder(store).mark("T01/1.1.1", status="alive")
        sync = Sync(store, server.client(), Ticking(), slept, told.append, jitter=lambda wait: wait, tries=4)
        outcome = sync.run()
        assert (outcome.state, outcome.waiting) == ("unreachable", 1)
        assert "4 times" in outcome.detail
        assert slept.waits == [0.5, 1, 2]
        assert [one.step for one in told] == ["waiting"] * 3
        assert sync.run().state == "in_step"


def test_the_jitter_that_was_passed_in_makes_the_waits(tmp_path: Path) -> None:
    """Two tablets on one boat do not come back at the same moment."""
    server, slept = a_server(), Slept()
    server.faults = [no_connection, no_connection]
    with tablet(tmp_path / "t.sqlite") as store:
        sync = Sync(store, server.client(), Ticking(), slept, jitter=lambda wait: wait + 0.125)
        assert sync.run().state == "in_step"
        assert slept.waits == [0.625, 1.125]


def test_a_withdrawn_tablet_keeps_everything_and_says_whom_to_ask(tmp_path: Path) -> None:
    """Not allowed is no reason to lose a dive."""
    server = a_server("w3w3w3")
    with tablet(tmp_path / "t.sqlite") as store:
        recorder(store).mark("T01/1.1.1", status="alive")
        before = digest_of(store)
        outcome = syncing(store, server).run()
        assert (outcome.state, outcome.waiting) == ("not_allowed", 1)
        assert "supervisor" in outcome.detail
        assert digest_of(store) == before
        assert len(server.requests) == 1


def test_another_nurserys_server_gives_and_gets_nothing(tmp_path: Path) -> None:
    """Two records never mix, whatever address was typed in."""
    server = FakeServer([b'{"id":"x2x2x2-1","kind":"moon_seen"}'])
    server.admit("k7f3qz")
    server.nursery = "elsewhere"
    with tablet(tmp_path / "t.sqlite") as store:
        before = digest_of(store)
        outcome = syncing(store, server).run()
        assert outcome.state == "refused"
        assert "elsewhere" in outcome.detail
        assert digest_of(store) == before


@pytest.mark.parametrize("page", [httpx.Response(200, text="<html>Marina WiFi: sign in</html>"), httpx.Response(302, text="moved")])
def test_a_sign_in_page_is_not_taken_for_the_server(tmp_path: Path, page: httpx.Response) -> None:
    """The marina's network answers everything: the tablet is not fooled."""
    server = a_server()
    server.faults = [lambda _: page]
    with tablet(tmp_path / "t.sqlite") as store:
        recorder(store).mark("T01/1.1.1", status="alive")
        outcome = syncing(store, server).run()
        assert (outcome.state, outcome.waiting) == ("refused", 1)


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


def _copied(path: Path, to: Path) -> None:
    with Store(path) as store:
        store.database.rows("PRAGMA wal_checkpoint(TRUNCATE)")
    to.write_bytes(path.read_bytes())


def test_a_cloned_tablet_becomes_somebody_else_and_no_entry_of_either_twin_is_lost(tmp_path: Path) -> None:
    """What both wrote before the copy is there once, what each wrote after it stays apart; the crew is told loudly."""
    server = a_server()
    one, twin = tmp_path / "one.sqlite", tmp_path / "twin.sqlite"
    with tablet(one) as store:
        recorder(store).mark("T01/1.1.1", status="alive")
        syncing(store, server).run()
        recorder(store).mark("T01/1.1.2", status="fading")
    _copied(one, twin)
    with tablet(one) as store:
        recorder(store).mark("T01/1.1.3", status="dead")
        assert syncing(store, server).run().state == "in_step"
    with tablet(twin) as store:
        crew = recorder(store, "ben")
        crew.mark("T01/1.1.3", status="sick")
        crew.mark("T01/1.1.3", status="bleached")
        planted = crew.plant("T01/2.2.3", "T01/1.1.1").fragment
        crew.harvest(planted, 2)
        crew.note(planted, "cut short", about=planted)
        assert syncing(store, server).run().state == "in_step"
        assert store.identities.own.writer == "fresh1"
        assert [notice.sort for notice in store.notices.all] == ["new_identity"]
        assert "k7f3qz" in store.notices.all[0].text
        assert held_by(store) == server.lines()
        assert server.heads() == {"officeab": len(OFFICE), "k7f3qz": 3, "fresh1": 5}
        seen = store.entries_of(SURVEY, "fragment:F-T01-3")
        assert [(entry.id, entry.replaces) for entry in seen if entry.writer == "fresh1"] == [
            ("fresh1-1", ()),
            ("fresh1-2", ("fresh1-1",)),
        ]
        assert {one.fragment for one in store.at("T01/2.2.3")} == {"F-T01-12", "fresh1-3"}
        notes = [entry for entry in store.entries_of(SURVEY, "fragment:fresh1-3") if isinstance(entry, NoteMade)]
        assert [note.about for note in notes] == ["fresh1-3"]
        assert crew.undo() is not None
        assert crew.undo() is not None
        assert store.entries_of(SURVEY, "fragment:fresh1-3")[-1].id == "fresh1-7"
        store.notices.dismiss(store.notices.all[0].number)
        assert store.notices.all == ()
    with tablet(one) as store:
        assert syncing(store, server).run().state == "in_step"
        assert store.identities.own.writer == "k7f3qz"
        finding = store.finding(SURVEY, "fragment:F-T01-3")
        assert finding is not None
        assert finding.open == ("status",)


def test_a_tablet_restored_from_its_own_backup_is_caught_before_it_writes_over_its_past(tmp_path: Path) -> None:
    """The server knows more of it than it does itself: it takes a new name, and its old entries come back to it."""
    server = a_server()
    path, backup = tmp_path / "t.sqlite", tmp_path / "backup.sqlite"
    with tablet(path) as store:
        recorder(store).mark("T01/1.1.1", status="alive")
        syncing(store, server).run()
    _copied(path, backup)
    with tablet(path) as store:
        recorder(store).mark("T01/1.1.2", status="fading")
        syncing(store, server).run()
    with tablet(backup) as store:
        assert syncing(store, server).run().state == "in_step"
        assert store.identities.own.writer == "fresh1"
        assert held_by(store) == server.lines()
        recorder(store).mark("T01/1.1.3", status="sick")
        assert syncing(store, server).run().state == "in_step"
        assert server.heads()["fresh1"] == 1


@settings(max_examples=25)
@given(st.integers(0, 3), st.integers(0, 3), st.integers(0, 4), st.integers(1, 3), st.lists(st.sampled_from(FAULTS), max_size=8))
def test_twins_never_lose_or_double_an_entry(before: int, copied: int, after: int, batch: int, faults: list[Fault | None]) -> None:
    """However much was sent before the copy, copied unsent, and written by each after it, all arrives once."""
    server = a_server()
    with tempfile.TemporaryDirectory() as folder:
        one, twin = Path(folder) / "one.sqlite", Path(folder) / "twin.sqlite"
        with tablet(one) as store:
            _note(store, "before", before)
            syncing(store, server).run()
            _note(store, "copied", copied)
        _copied(one, twin)
        server.faults = list(faults)
        for path, name, count in ((one, "one", 2), (twin, "twin", after)):
            with tablet(path) as store:
                _note(store, name, count)
                sync = syncing(store, server, tries=2)
                sync._outbox.batch = batch
                sync.run()
        server.faults = []
        for path in (one, twin, one):
            with tablet(path) as store:
                sync = syncing(store, server)
                sync._outbox.batch = batch
                assert sync.run().state == "in_step"
                assert held_by(store) == server.lines()
        texts = [json.loads(line).get("text") for line in server.lines() if b"note_made" in line]
        wanted = [("before", before), ("copied", copied), ("one", 2), ("twin", after)]
        assert sorted(texts) == sorted(f"{name} {n}" for name, count in wanted for n in range(count))


def _note(store: Store, name: str, count: int) -> None:
    for number in range(count):
        recorder(store).note("T01", f"{name} {number}")


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


def test_enrolment_gives_an_identity_and_spends_the_code(tmp_path: Path) -> None:
    """From then on the tablet records and syncs under a name of its own."""
    server = FakeServer(OFFICE)
    with Store(tmp_path / "t.sqlite") as store:
        identity = syncing(store, server).enrol("http://server/", "2345-6789", "boat one")
        assert (identity.writer, identity.server, identity.nursery_name) == ("fresh0", "http://server", "Reef Bay")
        assert syncing(store, server).run().received == len(OFFICE)
        recorder(store).mark("T01/1.1.1", status="alive")
        assert syncing(store, server).run().sent == 1
        with pytest.raises(NotAllowed, match="2345-6789"):
            syncing(store, server).enrol("http://server", "2345-6789", "boat two")
        assert store.identities.own.writer == "fresh0"


def test_a_lost_answer_to_an_enrolment_is_not_tried_again_by_itself(tmp_path: Path) -> None:
    """The code may be spent: a second try would blame the crew for it."""
    server = FakeServer(OFFICE)
    server.faults = [no_connection, lost_answer]
    with Store(tmp_path / "t.sqlite") as store:
        with pytest.raises(Unreachable):
            syncing(store, server).enrol("http://server", "2345-6789", "boat one")
        assert len(server.requests) == 2
        assert store.identities.current is None


def test_a_tablet_enrolled_again_still_sends_what_it_recorded_before(tmp_path: Path) -> None:
    """Withdrawn by mistake, with a day unsent: after a new enrolment the day arrives, under its old name."""
    server = a_server()
    with tablet(tmp_path / "t.sqlite") as store:
        recorder(store).mark("T01/1.1.1", status="sick")
        server.tokens.clear()
        assert syncing(store, server).run().state == "not_allowed"
        syncing(store, server).enrol("http://server", "2345-6789", "boat one")
        recorder(store).mark("T01/1.1.2", status="sick")
        assert syncing(store, server).run().state == "in_step"
        assert held_by(store) == server.lines()
        assert server.heads()["k7f3qz"] == 1


def test_a_tablet_with_data_is_not_enrolled_elsewhere(tmp_path: Path) -> None:
    """Another nursery begins with another file."""
    server = FakeServer(OFFICE)
    server.nursery = "elsewhere"
    with tablet(tmp_path / "t.sqlite") as store, pytest.raises(WireError, match="new data file"):
        syncing(store, server).enrol("http://server", "2345-6789", "boat one")


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


def test_how_far_the_clock_is_off_is_remembered_for_reading(tmp_path: Path) -> None:
    """No entry is changed by it."""
    server = a_server()
    server.clock_off_s = -3600
    with tablet(tmp_path / "t.sqlite") as store:
        syncing(store, server).run()
        assert store.settings.get("clock_off_s") == -3600
        assert held_by(store) == sorted(OFFICE)
