"""What is done while nobody taps loses nothing, and gives the old ways back."""

import gc
import shutil
from pathlib import Path

from mobile.rest import Rest
from mobile.store import Store
from tests.mobile.nursery import recorder, tablet


def test_a_tap_is_on_disk_before_anybody_rests(tmp_path: Path) -> None:
    """A copy of the files, as the battery would leave them, has it before the log was moved, and after."""
    with tablet(tmp_path / "t.sqlite") as store:
        rest = Rest(store.database)
        for number, quiet_s in enumerate((0.0, 2.0)):
            recorder(store).mark("T01/1.1.1", status="sick")
            rest.take(0.0)
            rest.take(quiet_s)
            left = tmp_path / str(number)
            left.mkdir()
            for file in tmp_path.glob("t.sqlite*"):
                shutil.copy(file, left)
            with Store(left / "t.sqlite") as copy:
                assert copy.last("k7f3qz") == store.last("k7f3qz") == number + 1
        rest.close()


def test_after_a_pause_what_was_written_is_in_the_file_itself(tmp_path: Path) -> None:
    """The log does not grow all day: after each pause it is used from its start again."""
    log = tmp_path / "t.sqlite-wal"
    with tablet(tmp_path / "t.sqlite") as store:
        rest, grown = Rest(store.database), set()
        for _ in range(4):
            for status in ("sick", "dead", "alive") * 5:
                recorder(store).mark("T01/1.1.1", status=status)
            rest.take(0.0)
            rest.take(2.0)
            rest.close()
            grown.add(log.stat().st_size)
        assert len(grown) <= 2, f"the log grew with every pause: {sorted(grown)}"


def test_the_ways_of_memory_are_given_back(tmp_path: Path) -> None:
    """Nothing is looked through by itself while it rests by plan; afterwards it is as before."""
    before = gc.get_threshold()
    with tablet(tmp_path / "t.sqlite") as store:
        rest = Rest(store.database)
        assert gc.get_threshold()[0] > before[0]
        rest.close()
    assert gc.get_threshold() == before
