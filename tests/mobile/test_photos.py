"""Photos: they follow the entries that name them, in pieces, over a network that breaks."""

from pathlib import Path

import pytest

from mobile.store import Store
from tests.mobile.fake_server import FakeServer, Fault, lost_answer, no_connection, server_error
from tests.mobile.nursery import recorder, tablet
from tests.mobile.syncing import a_server, syncing

PHOTO = b"\xff\xd8\xff\xe0" + bytes(range(256)) * 4000
"""About a megabyte that begins as a JPEG does: four pieces."""


def _taken(store: Store) -> str:
    recorder(store).photo("T01/1.1.1", PHOTO)
    return store.photos.waiting()[0][0]


def test_a_photo_arrives_whole_after_its_entry(tmp_path: Path) -> None:
    """The server has the entry first, then every byte; nothing waits any more."""
    server = a_server()
    with tablet(tmp_path / "t.sqlite") as store:
        sha256 = _taken(store)
        outcome = syncing(store, server).run()
        assert (outcome.state, outcome.photos, outcome.photos_waiting) == ("in_step", 1, 0)
        assert bytes(server.photos[sha256]) == PHOTO
        paths = [request.url.path for request in server.requests]
        assert paths.index("/api/exchange") < paths.index(f"/api/photos/{sha256}")


@pytest.mark.parametrize("fault", [no_connection, lost_answer, server_error])
@pytest.mark.parametrize("at", [1, 2, 3, 4, 5])
def test_a_photo_goes_on_where_it_stopped(tmp_path: Path, fault: Fault, at: int) -> None:
    """Wherever it breaks, before or after the server's work: no byte is sent twice that arrived and was said to."""
    server = a_server()
    server.faults = [*[None] * at, fault]
    path = tmp_path / "t.sqlite"
    with tablet(path) as store:
        sha256 = _taken(store)
        assert syncing(store, server, tries=1).run().state == "unreachable"
        assert len(store.photos.waiting()) == 1
    with tablet(path) as store:
        assert syncing(store, server).run().state == "in_step"
        assert bytes(server.photos[sha256]) == PHOTO
        pieces = sum(request.method == "PUT" for request in server.requests)
        assert pieces <= 5


def test_a_photo_that_the_server_has_is_not_sent_again(tmp_path: Path) -> None:
    """Two tablets with one photo, or a lost answer: asking is enough."""
    server = a_server()
    with tablet(tmp_path / "t.sqlite") as store:
        sha256 = _taken(store)
        server.photos[sha256] = bytearray(PHOTO)
        server.whole.add(sha256)
        syncing(store, server).run()
        assert store.photos.waiting() == ()
        assert not any(request.method == "PUT" for request in server.requests)


def test_what_the_server_holds_of_a_photo_and_is_wrong_is_sent_anew(tmp_path: Path) -> None:
    """A damaged beginning on the server costs one more try, not the photo."""
    server = a_server()
    with tablet(tmp_path / "t.sqlite") as store:
        sha256 = _taken(store)
        server.photos[sha256] = bytearray(b"rubbish")
        assert syncing(store, server).run().state == "in_step"
        assert bytes(server.photos[sha256]) == PHOTO


def test_a_photo_that_is_gone_from_the_disk_holds_up_no_other(tmp_path: Path) -> None:
    """The crew is told which; the next one is sent."""
    server: FakeServer = a_server()
    with tablet(tmp_path / "t.sqlite") as store:
        gone = _taken(store)
        store.photos.path(gone).unlink()
        recorder(store).photo("T01/1.1.2", PHOTO + b"more")
        outcome = syncing(store, server).run()
        assert (outcome.state, outcome.photos, outcome.photos_waiting) == ("in_step", 1, 0)
        assert len(server.whole) == 1
        assert [notice.sort for notice in store.notices.all] == ["damaged_photo"]
        assert gone[:12] in store.notices.all[0].text
