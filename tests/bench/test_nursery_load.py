"""How long it takes to load a large nursery from a table."""

import time
from pathlib import Path

from server.registry.loading import Stage, load_files
from server.registry.sources import Source
from server.settings import Settings
from server.store.opening import create_nursery
from tests.bench.nursery_files import nursery_csv


def test_a_thousand_trees_load_within_a_minute(tmp_path: Path) -> None:
    """100,000 fragments from one table, and the same table again; `pytest -s` shows where the time goes."""
    store = create_nursery(Settings.of(tmp_path, f"sqlite:///{tmp_path / 'nursery.sqlite'}"), "a thousand trees")
    source = [Source("trees.csv", nursery_csv(1_000))]
    for _ in range(2):
        started = time.perf_counter()
        stages: dict[Stage, float] = {}

        def note(stage: Stage, _done: int, _of: int, started: float = started, stages: dict[Stage, float] = stages) -> None:
            stages.setdefault(stage, time.perf_counter() - started)

        report = load_files(store, source, "office", note)
        took = time.perf_counter() - started
        begun = ", ".join(f"{stage} from {at:.1f} s" for stage, at in stages.items())
        print(f"{report.total('new')} new, {report.total('unchanged')} there already in {took:.1f} s ({begun})")  # noqa: T201
        assert took < 60
    store.engine.dispose()
