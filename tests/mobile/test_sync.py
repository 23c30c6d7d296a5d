"""Tablets and a server that fail in every way a boat knows: nothing is lost, nothing is doubled, all end in step."""

import tempfile
from pathlib import Path

import httpx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mobile.digest import digest_of
from mobile.exchange import Round
from mobile.outbox import Outbox
from mobile.sync import Progress, Sync
from shared_schema.errors import Unreachable
from tests.mobile.fake_server import FakeServer, Fault, lost_answer, no_connection, server_error
from tests.mobile.nursery import SURVEY, Ticking, recorder, tablet
from tests.mobile.syncing import FAULTS, OFFICE, Slept, a_server, held_by, syncing


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


def test_how_far_the_clock_is_off_is_remembered_for_reading(tmp_path: Path) -> None:
    """No entry is changed by it."""
    server = a_server()
    server.clock_off_s = -3600
    with tablet(tmp_path / "t.sqlite") as store:
        syncing(store, server).run()
        assert store.settings.get("clock_off_s") == -3600
        assert held_by(store) == sorted(OFFICE)
