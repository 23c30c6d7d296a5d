"""Puts the invented nursery into a database, as its tablets and its office would have brought it."""

import shutil
from collections.abc import Callable
from pathlib import Path

from sqlalchemy import insert

from server.access.accounts import make_first_supervisor
from server.access.trail import COMMAND_LINE
from server.demo.cast import NURSERY, NURSERY_ID, OFFICE_WRITER, PEOPLE, SUPERVISOR, TABLETS
from server.demo.history import Batch, History
from server.settings import Settings
from server.store.engine import writing
from server.store.models import WriterRow
from server.store.opening import create_nursery, nursery_of, open_nursery
from server.store.record import RecordStore
from shared_schema.errors import RecordError

__all__ = ["clear", "is_whole", "mark_whole", "stage"]


def stage(settings: Settings, history: History, step: Callable[[str, int, int], None]) -> RecordStore:
    """Make the nursery and let everything arrive, in the order in which it did. Raises StorageError."""
    store = create_nursery(settings, NURSERY, demo=True, name_id=NURSERY_ID, office=OFFICE_WRITER)
    _let_in(store, history.batches)
    make_first_supervisor(store, SUPERVISOR, PEOPLE[SUPERVISOR].name, COMMAND_LINE)
    for done, batch in enumerate(history.batches):
        step("storing two years", done, len(history.batches))
        receipt = store.receive(batch.lines, batch.writer, batch.received_ms)
        if receipt.set_aside:
            raise AssertionError(f"the demo wrote an entry that makes no sense: {receipt.set_aside[0]}")
    return store


def _let_in(store: RecordStore, batches: tuple[Batch, ...]) -> None:
    """The tablets of the two years are on the list, without a token: none of them is there to call."""
    with writing(store.engine) as connection:
        for writer, name in TABLETS.items():
            times = [batch.received_ms for batch in batches if batch.writer == writer]
            row = WriterRow(nursery=store.nursery, writer=writer, sort="tablet", name=name, enrolled=times[0], seen=times[-1])
            connection.execute(insert(WriterRow).values(**row.model_dump()))


def is_whole(settings: Settings) -> bool:
    """Whether the folder holds a demo that was built to its end. What was broken off is cleared away.

    Raises RecordError where it holds another nursery: that is nobody's to clear away.
    """
    file = settings.database_file
    if file is None or not file.exists():
        return False
    store = open_nursery(settings)
    row = nursery_of(store)
    store.engine.dispose()
    if not row.demo:
        raise RecordError(f"{settings.data} holds the nursery {row.name!r}, which is no demo: choose another --data")
    if _mark(settings).exists():
        return True
    clear(settings)
    return False


def clear(settings: Settings) -> None:
    """Take a demo out of its folder, and nothing else."""
    _mark(settings).unlink(missing_ok=True)
    for folder in (settings.photos, settings.packs, settings.data / "tablets"):
        shutil.rmtree(folder, ignore_errors=True)
    for file in settings.data.glob("crosstree.sqlite*"):
        file.unlink()


def mark_whole(settings: Settings) -> None:
    """Leave a mark that the demo was built to its end."""
    _mark(settings).touch()


def _mark(settings: Settings) -> Path:
    return settings.data / "demo-is-whole"
