"""The stores that must all keep the record alike."""

from collections.abc import Iterator

import pytest

from tests.contract.adapters import FreshRecord, office_files, tablet_files
from tests.postgres import PostgresServer


@pytest.fixture(scope="module")
def on_tablet() -> Iterator[FreshRecord]:
    """The tablet's SQLite."""
    with tablet_files() as fresh:
        yield fresh


@pytest.fixture(scope="module")
def on_sqlite() -> Iterator[FreshRecord]:
    """The server's SQLite."""
    with office_files() as fresh:
        yield fresh


@pytest.fixture(scope="module")
def on_postgresql(postgres_server: PostgresServer) -> Iterator[FreshRecord]:
    """The server's PostgreSQL."""
    with postgres_server.fresh_database() as url, office_files(url) as fresh:
        yield fresh


@pytest.fixture(
    scope="module",
    params=["on_tablet", "on_sqlite", pytest.param("on_postgresql", marks=pytest.mark.postgres)],
)
def fresh(request: pytest.FixtureRequest) -> FreshRecord:
    """One store after the other."""
    chosen: FreshRecord = request.getfixturevalue(request.param)
    return chosen
