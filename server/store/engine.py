"""A database engine that loses nothing: one code path, SQLite or PostgreSQL by its URL."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError

from shared_schema.errors import StorageError

__all__ = ["make_engine", "reading", "writing"]


def make_engine(url: str) -> Engine:
    """An engine for `sqlite:///file` or `postgresql+psycopg://...`. Raises StorageError for a URL of another kind."""
    if url.startswith("sqlite"):
        engine = create_engine(url, connect_args={"timeout": 60, "check_same_thread": False})
        event.listen(engine, "connect", _set_up_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
        return engine
    if url.startswith("postgresql+psycopg"):
        return create_engine(url, pool_pre_ping=True)
    raise StorageError(
        f"database {url.partition(':')[0]!r} is not known here: use sqlite:///FILE or postgresql+psycopg://USER@HOST/NAME"
    )


def _set_up_sqlite(connection: sqlite3.Connection, _record: Any) -> None:
    connection.isolation_level = None  # the driver's own BEGIN comes too late: two writers lost updates to each other
    connection.execute("PRAGMA journal_mode=WAL")
    connection.execute("PRAGMA synchronous=FULL")  # an acknowledgement lets a tablet rest: it must survive a power cut
    connection.execute("PRAGMA cache_size=-65536")
    connection.execute("PRAGMA temp_store=MEMORY")


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get("crosstree_writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """One transaction that writes. A database that does not take it raises StorageError, and nothing is kept."""
    try:
        with engine.connect().execution_options(crosstree_writes=True) as connection, connection.begin():
            yield connection
    except DBAPIError as error:
        raise StorageError(f"the database did not take it: {error.orig}") from error


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """One transaction that reads: all its statements see one state."""
    try:
        with engine.connect() as connection, connection.begin():
            if connection.dialect.name == "postgresql":
                connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
            yield connection
    except DBAPIError as error:
        raise StorageError(f"the database could not be read: {error.orig}") from error
