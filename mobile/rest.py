"""What a tablet does while nobody touches it, so that it never has to in the middle of a tap."""

import gc
import sqlite3
import threading
from pathlib import Path
from typing import Final

from mobile.database import Database

__all__ = ["Rest"]

_PAUSE_S: Final = 1.0
_LONG_S: Final = 10.0
_PAGES: Final = 16_384  # of 4096 bytes: what may wait beside the file if nobody ever pauses
_YOUNG: Final = 100_000  # objects that may wait to be looked through, likewise


class Rest:
    """Looks through memory, and moves what was written from the log beside the database into the file itself.

    Both take longer than a frame, and otherwise come by themselves every so many taps. What was written is on disk before:
    the log is read first, whatever happens. It belongs to the thread of the store; `close` gives the old ways back.
    """

    def __init__(self, database: Database) -> None:
        self._path = database.path
        self._thresholds = gc.get_threshold()
        self._young = self._old = False
        self._moving: threading.Thread | None = None
        database.rows(f"PRAGMA wal_autocheckpoint={_PAGES}")
        gc.set_threshold(_YOUNG, *self._thresholds[1:])

    def take(self, quiet_s: float) -> None:
        """Nobody has touched the tablet for so many seconds: do what is due then, once."""
        if quiet_s < _PAUSE_S:
            self._young = self._old = True
        elif self._young:
            self._young = False
            gc.collect(1)
            self._move()
        elif self._old and quiet_s >= _LONG_S:
            self._old = False
            gc.collect()

    def close(self) -> None:
        """It goes on as other programs do."""
        gc.set_threshold(*self._thresholds)
        if self._moving is not None:
            self._moving.join()

    def _move(self) -> None:
        """In a thread: it waits for the disk, and a tap that comes meanwhile does not wait for it."""
        if self._moving is None or not self._moving.is_alive():
            self._moving = threading.Thread(target=_checkpoint, args=(self._path,), name="rest", daemon=True)
            self._moving.start()


def _checkpoint(path: Path) -> None:
    """What the disk refuses now is still in the log, and moved another time."""
    try:
        connection = sqlite3.connect(path)
    except sqlite3.Error:
        return
    try:
        connection.execute("PRAGMA wal_checkpoint(PASSIVE)")
    except sqlite3.Error:
        return
    finally:
        connection.close()
