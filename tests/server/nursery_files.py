"""Nursery files, and a record to load them into."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from server.registry.loading import LoadReport, load_files
from server.registry.problems import FileRefused
from server.registry.sources import Source
from server.store.record import RecordStore
from tests.server.blank import tables_on
from tests.server.running import new_nursery

__all__ = ["EXAMPLES", "FRAGMENTS", "GOOD", "HEADINGS", "empty_store", "load", "refusal", "store", "told", "totals"]

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples"
GOOD = (EXAMPLES / "nursery.csv").read_text("utf-8")
HEADINGS = GOOD.splitlines()[0].split(",")


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[RecordStore]:
    """The record of a nursery about which nothing is known, on either database."""
    if request.param == "sqlite":
        with new_nursery(tmp_path) as (_, made):
            yield made
    else:
        with tables_on(request) as url, new_nursery(tmp_path, url) as (_, made):
            yield made


@pytest.fixture(scope="module")
def empty_store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RecordStore]:
    """One such record for many dry runs, which leave it as it is."""
    with new_nursery(tmp_path_factory.mktemp("empty")) as (_, made):
        yield made


def load(store: RecordStore, text: str | bytes, name: str = "nursery.csv") -> LoadReport:
    """Load one file."""
    content = text if isinstance(text, bytes) else text.encode()
    return load_files(store, [Source(name, content)], "office")


def totals(report: LoadReport) -> tuple[int, int, int]:
    """Rows that were new, changed, there already."""
    return report.total("new"), report.total("changed"), report.total("unchanged")


def refusal(store: RecordStore, text: str | bytes, name: str = "nursery.csv") -> FileRefused:
    """The refusal of a file, after a look that nothing of it was stored."""
    before = store.heads()
    with pytest.raises(FileRefused) as caught:
        load(store, text, name)
    assert store.heads() == before
    return caught.value


def told(refused: FileRefused) -> list[tuple[int, str, str]]:
    """Line, column and value of each problem."""
    return [(problem.line, problem.column, problem.value) for problem in refused.problems]


FRAGMENTS = "fragment,position,genet,parent,tag,planted\n"
