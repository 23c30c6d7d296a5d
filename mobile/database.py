"""The tablet's one SQLite file: opened with care, written in whole transactions, its troubles told as StorageError."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

from shared_schema.errors import StorageError

__all__ = ["SCHEMA_VERSION", "Database"]

SCHEMA_VERSION: Final = 1
"""The version of the tables that this program makes, and the newest that it can open."""

_APPLICATION_ID: Final = 0x43525452  # "CRTR", so that another program's file is not mistaken for ours
_TABLES: Final = """
CREATE TABLE entry (
    writer TEXT NOT NULL, number INTEGER NOT NULL,
    survey TEXT NOT NULL, subject TEXT NOT NULL, place TEXT, raw BLOB NOT NULL,
    PRIMARY KEY (writer, number)
) WITHOUT ROWID;
CREATE INDEX entry_by_subject ON entry (subject, survey);
CREATE INDEX entry_by_place ON entry (place, subject) WHERE place IS NOT NULL;
CREATE TABLE head (writer TEXT PRIMARY KEY, number INTEGER NOT NULL) WITHOUT ROWID;
CREATE TABLE identity (
    place INTEGER PRIMARY KEY, writer TEXT NOT NULL UNIQUE, token TEXT NOT NULL, nursery TEXT NOT NULL,
    nursery_name TEXT NOT NULL, server TEXT NOT NULL, acknowledged INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE setting (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE action (
    place INTEGER PRIMARY KEY, label TEXT NOT NULL, at TEXT NOT NULL, entries TEXT NOT NULL, put_back TEXT NOT NULL
);
CREATE TABLE notice (
    place INTEGER PRIMARY KEY AUTOINCREMENT, sort TEXT NOT NULL, text TEXT NOT NULL, since TEXT NOT NULL
);
CREATE TABLE pack (
    sha256 TEXT PRIMARY KEY, survey TEXT NOT NULL, structures TEXT NOT NULL,
    entries INTEGER NOT NULL, size INTEGER NOT NULL, loaded TEXT NOT NULL
) WITHOUT ROWID;
CREATE TABLE photo (
    sha256 TEXT PRIMARY KEY, size INTEGER NOT NULL, taken TEXT NOT NULL, sent INTEGER NOT NULL DEFAULT 0
) WITHOUT ROWID;
"""
# Made with the first write and not on opening: files of before have none, and a full disk must not keep a tablet from starting.
_STILL: Final = """
CREATE TABLE IF NOT EXISTS still (
    place INTEGER PRIMARY KEY CHECK (place = 1),
    mark TEXT NOT NULL, width INTEGER NOT NULL, height INTEGER NOT NULL, packed BLOB NOT NULL
)
"""


class Database:
    """One connection to one file, in the thread that made it.

    Every write is a transaction of its own that is on disk (WAL, synchronous=FULL) before `writing` ends. Several
    connections to one file, in other threads or processes, wait for each other up to `patience_s` seconds. Whatever is
    written, the still of before it (see still.py) is gone in the same transaction.
    """

    def __init__(self, path: Path, *, check: bool = True, patience_s: float = 10) -> None:
        self.path = path
        self._connection: sqlite3.Connection | None = None
        self._written = 0
        with self._told():
            self._connection = sqlite3.connect(path, timeout=patience_s, isolation_level=None)
            try:
                self._open(check)
            except BaseException:
                self.close()
                raise

    def _open(self, check: bool) -> None:
        self.rows("PRAGMA journal_mode=WAL")
        self.rows("PRAGMA synchronous=FULL")
        (version,), (application,) = self.rows("PRAGMA user_version")[0], self.rows("PRAGMA application_id")[0]
        if version > SCHEMA_VERSION:
            raise StorageError(
                f"{self.path} is of version {version}, and this program knows versions up to {SCHEMA_VERSION}: "
                "update the program; the file was not touched"
            )
        if version == 0:
            self._create()
        elif application != _APPLICATION_ID:
            raise StorageError(f"{self.path} is another program's file: choose another place for the tablet's data")
        elif check:
            self.check()

    def _create(self) -> None:
        with self._transaction():
            if self.rows("PRAGMA user_version")[0][0]:
                return  # another process was faster
            if self.rows("SELECT name FROM sqlite_schema LIMIT 1"):
                raise StorageError(f"{self.path} is another program's file: choose another place for the tablet's data")
            for statement in _TABLES.split(";\n"):
                self.run(statement)
            self.run(f"PRAGMA application_id={_APPLICATION_ID}")
            self.run(f"PRAGMA user_version={SCHEMA_VERSION}")

    def check(self) -> None:
        """Read the whole file. Raises StorageError where it is damaged; nothing is changed or deleted."""
        found = [row[0] for row in self.rows("PRAGMA quick_check(1)")]
        if found != ["ok"]:
            raise self._damaged("; ".join(found))

    @contextmanager
    def writing(self) -> Iterator[None]:
        """One transaction: all of it is on disk when the block ends, or none of it. Within another one it joins that.

        Raises StorageError where the disk is full or fails.
        """
        with self._told():
            if self._under_way():
                yield
                return
            with self._transaction():
                self._live.execute(_STILL)
                self._live.execute("DELETE FROM still")
                self._written += 1
                yield

    def run(self, statement: str, values: tuple[Any, ...] = ()) -> int:
        """Run one statement that writes; gives the number of rows that it changed."""
        with self.writing():
            return self._live.execute(statement, values).rowcount

    def run_many(self, statement: str, several: list[tuple[Any, ...]]) -> None:
        """Run one statement with each of several rows of values."""
        with self.writing():
            self._live.executemany(statement, several)

    def put_still(self, still: tuple[str, int, int, bytes], seen: tuple[int, int]) -> bool:
        """Keep a still (its mark, width, height and packed pixels) where nothing was written since `seen`, a `moment`."""
        with self._told(), self._transaction():
            if self.moment != seen:
                return False
            self._live.execute(_STILL)
            self._live.execute("INSERT OR REPLACE INTO still (place, mark, width, height, packed) VALUES (1, ?, ?, ?, ?)", still)
            return True

    def rows(self, statement: str, values: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
        """All rows that a statement gives."""
        with self._told():
            return self._live.execute(statement, values).fetchall()

    def each(self, statement: str, values: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
        """The rows that a statement gives, one by one: for what may be too much to hold at once."""
        with self._told():
            yield from self._live.execute(statement, values)

    @property
    def others(self) -> int:
        """A number that changes when another connection wrote to the file."""
        number: int = self.rows("PRAGMA data_version")[0][0]
        return number

    @property
    def moment(self) -> tuple[int, int]:
        """What changes with anything that is written, here or through another connection."""
        return self._written, self.others

    def close(self) -> None:
        """Let the file go; closing twice is no mistake."""
        if self._connection is not None:
            self._connection.close()
            self._connection = None

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        self._live.execute("BEGIN IMMEDIATE")
        try:
            yield
            self._live.execute("COMMIT")
        except BaseException:
            if self._under_way():  # SQLite rolls some failures back by itself
                self._live.execute("ROLLBACK")
            raise

    def _under_way(self) -> bool:
        return self._live.in_transaction

    @property
    def _live(self) -> sqlite3.Connection:
        if self._connection is None:
            raise StorageError(f"{self.path} is closed: open it again")
        return self._connection

    @contextmanager
    def _told(self) -> Iterator[None]:
        """Every trouble of SQLite's as a StorageError that says what to do."""
        try:
            yield
        except sqlite3.OperationalError as error:
            full = error.sqlite_errorcode == sqlite3.SQLITE_FULL
            advice = "make room on the disk; what was recorded before is safe" if full else "nothing was changed"
            raise StorageError(f"{self.path} could not be read or written: {error}: {advice}") from error
        except sqlite3.DatabaseError as error:
            raise self._damaged(str(error)) from error

    def _damaged(self, found: str) -> StorageError:
        return StorageError(
            f"{self.path} is damaged ({found}): it was left as it is; keep it for the office, and go on with a new file"
        )
