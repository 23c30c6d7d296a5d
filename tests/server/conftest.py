"""Nurseries and running servers, on SQLite and on PostgreSQL."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from server.settings import Settings
from server.store.record import RecordStore
from tests.server.blank import postgres_tables, tables_on
from tests.server.calling import caller
from tests.server.nursery_files import empty_store, store
from tests.server.running import new_nursery
from tests.words import compiled_words

__all__ = ["Nursery", "caller", "compiled_words", "empty_store", "lite", "nursery", "postgres_tables", "store"]

Nursery = tuple[Settings, RecordStore]


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def nursery(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Nursery]:
    """An empty nursery, once on each database."""
    if request.param == "sqlite":
        with new_nursery(tmp_path) as made:
            yield made
    else:
        with tables_on(request) as url, new_nursery(tmp_path, url) as made:
            yield made


@pytest.fixture
def lite(tmp_path: Path) -> Iterator[Nursery]:
    """An empty nursery on SQLite."""
    with new_nursery(tmp_path) as made:
        yield made
