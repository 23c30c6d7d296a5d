"""The private PostgreSQL server that other tests stand on."""

from pathlib import Path

import pytest
from sqlalchemy import create_engine, inspect, text

from tests.postgres import PostgresNotInstalledError, PostgresServer, find_binaries

pytestmark = pytest.mark.postgres


def columns_of_a_new_table(url: str) -> list[str]:
    """Make the table ``reef`` in a database and return its columns as the server tells them."""
    engine = create_engine(url)
    try:
        with engine.begin() as connection:
            connection.execute(text("CREATE TABLE reef (name text)"))
        return [column["name"] for column in inspect(engine).get_columns("reef")]
    finally:
        engine.dispose()


def test_each_fresh_database_is_empty_and_apart_from_the_others(postgres_server: PostgresServer) -> None:
    """Two tests that make the same table do not meet."""
    with postgres_server.fresh_database() as first, postgres_server.fresh_database() as second:
        assert columns_of_a_new_table(first) == ["name"]
        assert columns_of_a_new_table(second) == ["name"]


def test_a_database_is_dropped_even_when_a_connection_was_left_open(postgres_server: PostgresServer) -> None:
    """A test that forgets a connection does not keep the next ones from running."""
    with postgres_server.fresh_database() as url:
        engine = create_engine(url)
        left_open = engine.connect()
        name = left_open.execute(text("SELECT current_database()")).scalar_one()
    left_open.invalidate()
    left_open.close()
    engine.dispose()
    names = [row[0] for row in postgres_server.admin.execute("SELECT datname FROM pg_database")]
    assert name not in names


def test_the_fixtures_give_addresses_that_sqlalchemy_opens(postgres_url: str, postgres_database: str) -> None:
    """The session's address and the test's own lead to two databases on one server."""
    found = []
    for url in (postgres_url, postgres_database):
        engine = create_engine(url)
        with engine.connect() as connection:
            found.append(connection.execute(text("SELECT current_database()")).scalar_one())
        engine.dispose()
    assert found[0] == "postgres"
    assert found[1].startswith("fresh_")


def test_a_missing_postgresql_names_the_debian_package(tmp_path: Path) -> None:
    """Whoever lacks the server learns what to install; nothing is skipped."""
    with pytest.raises(PostgresNotInstalledError, match="Debian package postgresql"):
        find_binaries(tmp_path)
