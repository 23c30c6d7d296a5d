"""Holds the read tables against the fold of the record, and makes them anew from it.

The record is the truth: what a check finds wrong in a read table can always be mended, what it finds wrong in the
record itself (a hole in a writer's numbers, an entry that changed) it can only tell.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from sqlalchemy import Connection, delete, func, select, update
from sqlmodel import col

from server.store.bulk import upsert_rows
from server.store.engine import reading, writing
from server.store.folding import finding_row, load_finding, standing_row
from server.store.models import EntryRow, FindingRow, StandingRow, WriterRow
from server.store.record import RecordStore
from shared_schema.entries import read_entry
from shared_schema.errors import EntryNotUnderstood
from shared_schema.fold import fold_group, stand

__all__ = ["Check", "check_record", "mend"]

Progress = Callable[[int], None]

_AT_ONCE = 2_000
_STREAM = {"yield_per": _AT_ONCE}


@dataclass(frozen=True, slots=True)
class Check:
    """What a check found: how much it read, what is wrong (a line each), and what it only remarks on."""

    entries: int
    findings: int
    standings: int
    wrong: tuple[str, ...]
    remarks: tuple[str, ...]


def check_record(store: RecordStore, progress: Progress = lambda _: None) -> Check:
    """Fold the whole record again and compare. `progress` is told how many entries it read since it was last told."""
    wrong: list[str] = []
    remarks: list[str] = []
    with reading(store.engine) as connection:
        wrong += _numbers(connection, store.nursery)
        remarks += _aside(connection, store.nursery)
        entries = findings = 0
        rows = _rows(connection, store.nursery, FindingRow)
        held = next(rows, None)
        for row, count in _folded(connection, store.nursery, progress):
            entries, findings = entries + count, findings + 1
            while held is not None and held[1:3] < row[1:3]:
                wrong.append(f"finding of {held[2]} in survey {held[1] or '(standing)'} has no entries behind it")
                held = next(rows, None)
            if held is None or held[1:3] != row[1:3]:
                wrong.append(f"finding of {row[2]} in survey {row[1] or '(standing)'} is missing")
                continue
            if held != row:
                wrong.append(
                    f"finding of {row[2]} in survey {row[1] or '(standing)'} is {held[-1]}, and its entries fold to {row[-1]}"
                )
            held = next(rows, None)
        wrong += [f"finding of {row[2]} in survey {row[1] or '(standing)'} has no entries behind it" for row in _rest(held, rows)]
        standings, more = _standings(connection, store.nursery)
    return Check(entries, findings, standings, tuple(wrong + more), tuple(remarks))


def mend(store: RecordStore, progress: Progress = lambda _: None) -> None:
    """Make the read tables anew from the record, and take in what was set aside and can be understood now."""
    with writing(store.engine) as connection:
        store.lock(connection)
        _understand(connection, store.nursery)
        for table in (FindingRow, StandingRow):
            connection.execute(delete(table).where(col(table.nursery) == store.nursery))
        some: list[tuple[Any, ...]] = []
        for row, _ in _folded(connection, store.nursery, progress):
            some.append(row)
            if len(some) == _AT_ONCE:
                upsert_rows(connection, FindingRow, some)
                some = []
        upsert_rows(connection, FindingRow, some)
        some = []
        for row in _stood(connection, store.nursery):
            some.append(row)
            if len(some) == _AT_ONCE:
                upsert_rows(connection, StandingRow, some)
                some = []
        upsert_rows(connection, StandingRow, some)


def _folded(connection: Connection, nursery: int, progress: Progress) -> Iterator[tuple[tuple[Any, ...], int]]:
    """(row of each finding as its entries fold, number of entries), by survey and subject."""
    rows = connection.execute(
        select(col(EntryRow.survey), col(EntryRow.subject), col(EntryRow.raw))
        .where(col(EntryRow.nursery) == nursery, col(EntryRow.set_aside).is_(None))
        .order_by(col(EntryRow.survey), col(EntryRow.subject)),
        execution_options=_STREAM,
    )
    for _, group in groupby(rows, key=lambda row: (row.survey, row.subject)):
        entries = [read_entry(row.raw) for row in group]
        progress(len(entries))
        yield finding_row(nursery, fold_group(entries)), len(entries)


def _stood(connection: Connection, nursery: int) -> Iterator[tuple[Any, ...]]:
    """Row of each standing as the findings in the table make it, by subject."""
    rows = connection.execute(
        select(col(FindingRow.survey), col(FindingRow.subject), col(FindingRow.slots))
        .where(col(FindingRow.nursery) == nursery)
        .order_by(col(FindingRow.subject), col(FindingRow.survey)),
        execution_options=_STREAM,
    )
    for subject, group in groupby(rows, key=lambda row: row.subject):
        yield standing_row(nursery, stand(subject, [load_finding(row.survey, subject, row.slots) for row in group]))


def _standings(connection: Connection, nursery: int) -> tuple[int, list[str]]:
    wrong: list[str] = []
    held = {row[1]: row for row in _rows(connection, nursery, StandingRow)}
    count = 0
    for row in _stood(connection, nursery):
        count += 1
        found = held.pop(row[1], None)
        if found is None:
            wrong.append(f"standing of {row[1]} is missing")
        elif found != row:
            wrong.append(f"standing of {row[1]} is {found[-1]}, and its findings make it {row[-1]}")
    return count, wrong + [f"standing of {subject} has no findings behind it" for subject in held]


def _rows(connection: Connection, nursery: int, table: type[FindingRow] | type[StandingRow]) -> Iterator[tuple[Any, ...]]:
    keys = [col(table.survey), col(table.subject)] if table is FindingRow else [col(table.subject)]
    statement = select(table.__table__).where(col(table.nursery) == nursery).order_by(*keys)  # type: ignore[union-attr]
    for row in connection.execute(statement, execution_options=_STREAM):
        yield tuple(row)


def _rest(held: tuple[Any, ...] | None, rows: Iterator[tuple[Any, ...]]) -> Iterator[tuple[Any, ...]]:
    if held is not None:
        yield held
    yield from rows


def _numbers(connection: Connection, nursery: int) -> Iterator[str]:
    """Holes in writers' numbers, and heads that do not fit what is held."""
    held = {
        row.writer: row
        for row in connection.execute(
            select(
                col(EntryRow.writer),
                func.count().label("held"),
                func.min(col(EntryRow.number)).label("first"),
                func.max(col(EntryRow.number)).label("last"),
            )
            .where(col(EntryRow.nursery) == nursery)
            .group_by(col(EntryRow.writer))
        )
    }
    heads = connection.execute(select(col(WriterRow.writer), col(WriterRow.head)).where(col(WriterRow.nursery) == nursery)).all()
    for writer, head in heads:
        row = held.pop(writer, None)
        if row is None:
            if head:
                yield f"writer {writer} should have {head} entries and has none"
        elif (row.first, row.last, row.held) != (1, head, head):
            yield f"writer {writer} should have entries 1 to {head} and has {row.held}, from {row.first} to {row.last}"
    for writer in held:
        yield f"writer {writer} has entries and is not known"


def _aside(connection: Connection, nursery: int) -> Iterator[str]:
    for row in _set_aside(connection, nursery):
        try:
            read_entry(row.raw)
        except EntryNotUnderstood as why:
            yield f"entry {row.writer}-{row.number} is set aside ({why.reason}): {why}"
        else:
            yield f"entry {row.writer}-{row.number} was set aside and can be understood now: `crosstree check --mend` takes it in"


def _understand(connection: Connection, nursery: int) -> None:
    for row in _set_aside(connection, nursery):
        try:
            entry = read_entry(row.raw)
        except EntryNotUnderstood:
            continue
        connection.execute(
            update(EntryRow)
            .where(col(EntryRow.nursery) == nursery, col(EntryRow.writer) == row.writer, col(EntryRow.number) == row.number)
            .values(survey=entry.survey, subject=entry.subject, set_aside=None)
        )


def _set_aside(connection: Connection, nursery: int) -> list[Any]:
    return list(
        connection.execute(
            select(col(EntryRow.writer), col(EntryRow.number), col(EntryRow.raw))
            .where(col(EntryRow.nursery) == nursery, col(EntryRow.set_aside).is_not(None))
            .order_by(col(EntryRow.writer), col(EntryRow.number))
        )
    )
