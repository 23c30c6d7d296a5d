"""Entries that are stored and fold to nothing, each with the reason."""

import json
from collections.abc import Iterator
from dataclasses import dataclass

from sqlalchemy import ColumnElement, Connection, LargeBinary, func, literal, or_, select
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


def count_set_aside(store: RecordStore, survey: str | None = None) -> int:
    """How many entries are set aside, or how many of those say that they are of a survey."""
    with reading(store.engine) as connection:
        found: int = connection.execute(
            select(func.count()).select_from(EntryRow).where(*_wanted(connection, store.nursery, survey))
        ).scalar_one()
    return found


def _wanted(connection: Connection, nursery: int, survey: str | None) -> Iterator[ColumnElement[bool]]:
    yield col(EntryRow.nursery) == nursery
    yield col(EntryRow.set_aside).is_not(None)
    if survey is not None:
        # Nothing can be made of these lines, so that their bytes are all there is to go by.
        yield or_(*(_holds(connection, f'"survey":{blank}{json.dumps(survey)}'.encode()) for blank in ("", " ")))


def _holds(connection: Connection, words: bytes) -> ColumnElement[bool]:
    raw, sought = col(EntryRow.raw), literal(words, LargeBinary)
    return (func.instr(raw, sought) if connection.dialect.name == "sqlite" else func.position(sought.op("IN")(raw))) > 0


def list_set_aside(store: RecordStore, first: int, limit: int, survey: str | None = None) -> list[SetAsideEntry]:
    """Entries set aside, or those that say that they are of a survey, last received first, from `first` (counted from 0)."""
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
            .where(*_wanted(connection, store.nursery, survey))
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
