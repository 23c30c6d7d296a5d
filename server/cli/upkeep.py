"""Commands that keep the record in good order: hold it against itself, back it up, bring it back."""

from pathlib import Path
from typing import Annotated

import typer

from server.cli.options import Data, Database, opened
from server.cli.output import Step, complain, progress, say
from server.settings import Settings
from server.store.backup import back_up, restore
from server.store.checking import Progress, check_record, mend
from server.store.opening import nursery_of
from server.store.photos import PhotoStore

__all__ = ["check", "make_backup", "restore_backup"]

_SHOWN = 20


def check(
    data: Data = None,
    database: Database = None,
    mend_it: Annotated[bool, typer.Option("--mend", help="Make the read tables anew from the entries first.")] = False,
) -> None:
    """Fold the whole record again, compare, and look at every photo. Ends with 1 where something is wrong.

    Example: crosstree check --mend
    """
    settings = Settings.of(data, database)
    store = opened(data, database)
    with progress() as step:
        if mend_it:
            mend(store, _counting(step, "folding anew"))
        found = check_record(store, _counting(step, "checking entries"))
        wrong = [*found.wrong, *PhotoStore(store, settings.photos).damage()]
    store.engine.dispose()
    for line in found.remarks[:_SHOWN]:
        say(f"note: {line}")
    for line in wrong[:_SHOWN]:
        complain(line)
    if len(wrong) > _SHOWN:
        complain(f"... and {len(wrong) - _SHOWN} more")
    say(f"{found.entries} entries fold to {found.findings} findings and {found.standings} standings")
    if wrong:
        complain(f"{len(wrong)} things are wrong; `crosstree check --mend` mends read tables, a backup brings back the rest")
        raise typer.Exit(1)
    say("all of it is in order")


def make_backup(
    target: Annotated[Path, typer.Argument(metavar="FILE", help="The backup to write; never one that exists.")],
    data: Data = None,
    database: Database = None,
) -> None:
    """Write entries, writers and photos to one file. The server may go on serving.

    Example: crosstree backup nursery-2026-11-25.zip
    """
    settings = Settings.of(data, database)
    store = opened(data, database)
    with progress() as step:
        count = back_up(store, PhotoStore(store, settings.photos), target, _counting(step, "backing up"))
    store.engine.dispose()
    say(f"{target}: {count} entries, {target.stat().st_size} bytes")


def restore_backup(
    source: Annotated[
        Path, typer.Argument(metavar="FILE", help="A backup that `crosstree backup` wrote.", exists=True, dir_okay=False)
    ],
    data: Data = None,
    database: Database = None,
) -> None:
    """Bring a nursery back from a backup, into a folder or database that does not have it.

    What tablets recorded since the backup comes back at their next sync; so does what the office ruled, where a tablet
    has it. Accounts come back; sessions, links and codes are not in a backup: sign in again.

    Example: crosstree restore nursery-2026-11-25.zip --data fresh-folder
    """
    with progress() as step:
        store = restore(source, Settings.of(data, database), _counting(step, "restoring"))
    heads = store.heads()
    say(f"{nursery_of(store).name}: {sum(heads.values())} entries of {len(heads)} writers; now let every tablet sync")
    store.engine.dispose()


def _counting(step: Step, what: str) -> Progress:
    done = 0

    def count(more: int) -> None:
        nonlocal done
        done += more
        step(what, done, 0)

    return count
