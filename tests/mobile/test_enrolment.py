"""How a tablet gets its identity, and keeps its entries over a second one."""

from pathlib import Path

import pytest

from mobile.store import Store
from shared_schema.errors import NotAllowed, Unreachable, WireError
from tests.mobile.fake_server import FakeServer, lost_answer, no_connection
from tests.mobile.nursery import recorder, tablet
from tests.mobile.syncing import OFFICE, a_server, held_by, syncing


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
