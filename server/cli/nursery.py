"""Commands on the nursery itself: make one, load what hangs in it."""

from pathlib import Path
from typing import Annotated

import typer

from server.cli.options import By, Data, Database, opened
from server.cli.output import progress, say
from server.registry.columns import SORTS
from server.registry.loading import LoadReport, check_files, load_files
from server.registry.sources import Source
from server.settings import Settings
from server.store.opening import create_nursery
from shared_schema.errors import StorageError

__all__ = ["app"]

app = typer.Typer(no_args_is_help=True, help="Make a nursery, and load what hangs in it.")


@app.command("new")
def make_nursery(
    name: Annotated[str, typer.Argument(help="What people call it.")],
    data: Data = None,
    database: Database = None,
) -> None:
    """Make a nursery with nothing in it.

    Example: crosstree nursery new "Our nursery" --data ./our-nursery
    """
    settings = Settings.of(data, database)
    create_nursery(settings, name).engine.dispose()
    say(f"made the nursery {name!r} in {settings.data}")
    say("next: crosstree nursery load FILE")


@app.command("load")
def load(
    file: Annotated[list[Path], typer.Argument(help="CSV or YAML; several count as one.")],
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Check, say what would be done, and do nothing.")] = False,
    by: By = "office",
    data: Data = None,
    database: Database = None,
) -> None:
    """Load structures, genets, people, surveys and fragments from tables: all of it, or nothing.

    Examples: crosstree nursery load nursery.csv --dry-run; crosstree nursery load structures.csv fragments.csv
    """
    sources = [_read(each) for each in file]
    store = opened(data, database)
    with progress() as step:
        report = (check_files if dry_run else load_files)(store, sources, by, step)
    store.engine.dispose()
    _tell(report, dry_run)


def _read(file: Path) -> Source:
    try:
        return Source(str(file), file.read_bytes())
    except OSError as error:
        raise StorageError(f"{file} cannot be read: {error.strerror}") from error


def _tell(report: LoadReport, dry_run: bool) -> None:
    for sort, counts in report.counts.items():
        if counts:
            say(f"  {SORTS[sort].several:<11}{_counts(*(counts.get(each, 0) for each in ('new', 'unchanged', 'changed')))}")
    total = _counts(report.total("new"), report.total("unchanged"), report.total("changed"))
    say(f"{'would be stored' if dry_run else 'stored'}: {total}")


def _counts(new: int, there: int, changed: int) -> str:
    return f"{new} new, {there} already there, {changed} changed"
