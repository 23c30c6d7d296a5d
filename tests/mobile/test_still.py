"""The still of the page where a tablet stopped: it is there only while all is as it was when it was taken."""

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mobile.database import Database
from mobile.still import StillShelf, pack
from mobile.store import Store
from tests.mobile.nursery import recorder, tablet

SIZE = (4, 3)
PIXELS = bytes(range(48))


def keep(store: Store, glass: str = "glass") -> StillShelf:
    """A still of how the store is now."""
    shelf = StillShelf(store.database, glass)
    assert shelf.keep(*SIZE, pack(PIXELS), shelf.moment)
    return shelf


def forget_a_setting(store: Store) -> None:
    """It was set before."""
    store.settings.put(page="T01/1")
    keep(store)
    store.settings.put(page=None)


WRITES: dict[str, Callable[[Store], object]] = {
    "a status": lambda store: recorder(store).mark("T01/1.1.1", status="sick"),
    "a note": lambda store: recorder(store).note("T01/1", "murky"),
    "an undo": lambda store: (recorder(store).mark("T01/1.1.1", status="sick"), keep(store), recorder(store).undo()),
    "a signature": lambda store: recorder(store).sign_off("T01/1"),
    "a setting": lambda store: store.settings.put(theme="night"),
    "a setting forgotten": forget_a_setting,
    "a notice": lambda store: store.notices.post("damaged_photo", "look", datetime(2026, 11, 14, tzinfo=UTC)),
    "heads": lambda store: store.set_head("other1", 3),
    "heads that rise": lambda store: store.raise_heads({"other1": 3}),
}


@pytest.mark.parametrize("what", WRITES)
def test_whatever_is_written_takes_it_away(tmp_path: Path, what: str) -> None:
    """A start never shows what is not so any more."""
    with tablet(tmp_path / "t.sqlite") as store:
        shelf = keep(store)
        assert shelf.has(*SIZE)
        WRITES[what](store)
        assert not shelf.has(*SIZE)
        assert shelf.read(*SIZE) is None


def test_what_another_connection_writes_takes_it_away(tmp_path: Path) -> None:
    """So does a sync, which has a connection of its own."""
    with tablet(tmp_path / "t.sqlite") as store, Store(tmp_path / "t.sqlite") as other:
        shelf = keep(store)
        other.settings.put(theme="night")
        assert not shelf.has(*SIZE)


def _change_and_fail(store: Store) -> None:
    with store.database.writing():
        store.settings.put(theme="night")
        raise ZeroDivisionError


def test_what_is_taken_back_before_it_was_written_leaves_it(tmp_path: Path) -> None:
    """A transaction that fails changes nothing, the still included."""
    with tablet(tmp_path / "t.sqlite") as store:
        shelf = keep(store)
        with pytest.raises(ZeroDivisionError):
            _change_and_fail(store)
        assert shelf.has(*SIZE)


def test_putting_what_is_so_already_leaves_it(tmp_path: Path) -> None:
    """A start says again where it is, and that is no change."""
    with tablet(tmp_path / "t.sqlite") as store:
        store.settings.put(page="T01/1", aboard=["ana"], way=None)
        shelf = keep(store)
        store.settings.put(page="T01/1", aboard=["ana"], way=None)
        assert shelf.has(*SIZE)


@pytest.mark.parametrize("by_another", [False, True])
def test_one_that_came_too_late_is_not_kept(tmp_path: Path, *, by_another: bool) -> None:
    """Packing takes its time: what was written meanwhile is not in the picture."""
    with tablet(tmp_path / "t.sqlite") as store, Store(tmp_path / "t.sqlite") as other:
        shelf = StillShelf(store.database, "glass")
        moment = shelf.moment
        (other if by_another else store).settings.put(theme="night")
        assert not shelf.keep(*SIZE, pack(PIXELS), moment)
        assert not shelf.has(*SIZE)


def test_it_is_for_the_same_glass_alone(tmp_path: Path) -> None:
    """Another size, or another density, would show it wrong."""
    with tablet(tmp_path / "t.sqlite") as store:
        keep(store, "149 dpi")
        assert StillShelf(store.database, "149 dpi").has(*SIZE)
        assert not StillShelf(store.database, "149 dpi").has(3, 4)
        assert not StillShelf(store.database, "298 dpi").has(*SIZE)


@pytest.mark.parametrize("packed", [b"", b"no picture", pack(PIXELS)[:-3], pack(PIXELS[:-4])])
def test_one_that_is_not_whole_is_not_shown(tmp_path: Path, packed: bytes) -> None:
    """A start goes on without it."""
    with tablet(tmp_path / "t.sqlite") as store:
        shelf = StillShelf(store.database, "glass")
        assert shelf.keep(*SIZE, packed, shelf.moment)
        assert shelf.read(*SIZE) is None


def test_opening_a_file_writes_nothing_in_it(tmp_path: Path) -> None:
    """One that has no room for a still yet opens all the same, however full the disk is."""
    path = tmp_path / "t.sqlite"
    with tablet(path) as store:
        store.database.run("DROP TABLE still")
    with Store(path, check=False) as store:
        assert not StillShelf(store.database, "glass").has(*SIZE)
        assert store.database.rows("SELECT count(*) FROM sqlite_schema WHERE name = 'still'") == [(0,)]


@given(pixels=st.binary(min_size=len(PIXELS), max_size=len(PIXELS)))
def test_it_comes_back_as_it_was_taken(pixels: bytes) -> None:
    """Byte for byte."""
    database = Database(Path(":memory:"))
    shelf = StillShelf(database, "glass")
    assert shelf.keep(*SIZE, pack(pixels), shelf.moment)
    found = shelf.read(*SIZE)
    assert found is not None
    assert found.pixels == pixels
    database.close()
