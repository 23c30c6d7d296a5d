"""Databases with tables and no nursery in them, copied: to bring a new one up to date takes longer than most tests.

What migrations do is looked at by tests/server/test_migrations.py; commands and the demo make their databases themselves.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache

import pytest
from sqlalchemy import insert, make_url

from server.settings import Settings
from server.store.engine import make_engine, writing
from server.store.models import NurseryRow
from server.store.opening import migrate
from server.store.record import RecordStore
from shared_schema.ids import OFFICE, new_writer
from tests.postgres import PostgresServer
from tests.scratch import scratch_folder

__all__ = ["beside", "lay_tables", "postgres_tables", "tables_on"]


@cache
def _sqlite_file() -> bytes:
    with scratch_folder() as folder:
        path = folder / "crosstree.sqlite"
        _migrate(f"sqlite:///{path}")
        return path.read_bytes()


def _migrate(url: str) -> None:
    engine = make_engine(url)
    migrate(engine)
    engine.dispose()  # the last one out writes everything into the file


def lay_tables(settings: Settings) -> None:
    """Put the tables where the settings lead to an SQLite file that is not there yet."""
    file = settings.database_file
    if file is not None and not file.exists():
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(_sqlite_file())


@pytest.fixture(scope="session")
def postgres_tables(postgres_server: PostgresServer) -> Iterator[str]:
    """The name of a PostgreSQL database to copy."""
    with postgres_server.fresh_database() as url:
        _migrate(url)
        yield str(make_url(url).database)


@contextmanager
def tables_on(request: pytest.FixtureRequest) -> Iterator[str]:
    """The URL of a PostgreSQL database of a test's own, with the tables in it."""
    server: PostgresServer = request.getfixturevalue("postgres_server")
    with server.fresh_database(request.getfixturevalue("postgres_tables")) as url:
        yield url


def beside(store: RecordStore, name: str) -> RecordStore:
    """A new nursery in the same database, on the same engine: it has compiled the statements already."""
    row = NurseryRow(name_id=new_writer(), name=name, office=new_writer(OFFICE))
    with writing(store.engine) as connection:
        made = connection.execute(insert(NurseryRow).values(**row.model_dump(exclude={"id"})))
        assert made.inserted_primary_key is not None
        return RecordStore(store.engine, int(made.inserted_primary_key[0]))
