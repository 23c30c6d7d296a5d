"""Entries that are stored and fold to nothing, each with the reason."""

from dataclasses import dataclass

from sqlalchemy import func, select
from sqlmodel import col

from server.store.engine import reading
from server.store.models import EntryRow
from server.store.record import RecordStore
from shared_schema.ids import EntryId

__all__ = ["SetAsideEntry", "count_set_aside", "list_set_aside"]


@dataclass(frozen=True, slots=True)
class SetAsideEntry:
    """`reason` is unknown, newer, damaged or not_allowed; `raw` the line as it came; `received_ms` since 1970 UTC."""

    id: str
    via: str
    received_ms: int
    reason: str
    detail: str
    raw: str


def count_set_aside(store: RecordStore) -> int:
    """How many entries are set aside."""
    with reading(store.engine) as connection:
        found: int = connection.execute(
            select(func.count()).where(col(EntryRow.nursery) == store.nursery, col(EntryRow.set_aside).is_not(None))
        ).scalar_one()
    return found


def list_set_aside(store: RecordStore, first: int, limit: int) -> list[SetAsideEntry]:
    """Entries set aside, last received first, from `first` (counted from 0)."""
    with reading(store.engine) as connection:
        rows = connection.execute(
            select(
                col(EntryRow.writer),
                col(EntryRow.number),
                col(EntryRow.via),
                col(EntryRow.received),
                col(EntryRow.set_aside),
                col(EntryRow.raw),
            )
            .where(col(EntryRow.nursery) == store.nursery, col(EntryRow.set_aside).is_not(None))
            .order_by(col(EntryRow.received).desc(), col(EntryRow.writer), col(EntryRow.number))
            .offset(first)
            .limit(limit)
        ).all()
    found = []
    for writer, number, via, received, aside, raw in rows:
        reason, _, detail = (aside or "").partition(": ")
        text = raw.decode("utf-8", errors="backslashreplace")
        found.append(SetAsideEntry(str(EntryId(writer, number)), via, received, reason, detail, text))
    return found
