"""Corrections: what the office wrote at once, with one reason, and can take back as one.

A correction's name says where its entries are: `<office writer>-<first number>-<how many>`. Its rulings bear the name as
their batch; what else stands in that range belongs to it.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import TypeAlias

from sqlalchemy import select
from sqlmodel import col

from server.review.entries import withdrawn_of
from server.store.engine import reading
from server.store.models import EntryRow
from server.store.record import RecordStore
from shared_schema.entries import EntryWithdrawn, GenetRegistered, RulingGiven, read_entry
from shared_schema.envelope import BaseEntry
from shared_schema.errors import NotAllowed, NothingSuch

__all__ = ["Correction", "Written", "batch_name", "corrections_among", "read_correction", "take_correction_back"]

Written: TypeAlias = RulingGiven | GenetRegistered
"""What a correction consists of."""


@dataclass(frozen=True, slots=True)
class Correction:
    """What was written as one; `standing` are the entries that were not taken back."""

    name: str
    by: str
    at: datetime
    reason: str
    entries: tuple[Written, ...]
    standing: tuple[Written, ...]


def batch_name(writer: str, first: int, count: int) -> str:
    """The name of what a writer writes as one."""
    return f"{writer}-{first}-{count}"


def read_correction(store: RecordStore, name: str) -> Correction:
    """What was written as one. Raises NothingSuch."""
    writer, first, count = _parts(name)
    with reading(store.engine) as connection:
        lines = connection.execute(
            select(col(EntryRow.raw))
            .where(
                col(EntryRow.nursery) == store.nursery,
                col(EntryRow.writer) == writer,
                col(EntryRow.number).between(first, first + count - 1),
                col(EntryRow.set_aside).is_(None),
            )
            .order_by(col(EntryRow.number))
        ).scalars()
        entries = [read_entry(line) for line in lines]
    rulings = [one for one in entries if isinstance(one, RulingGiven) and one.batch == name]
    if not rulings:
        raise NothingSuch("there is no correction %(name)s in the record", name=name[:80])
    written = tuple(one for one in entries if one in rulings or isinstance(one, GenetRegistered))
    gone = withdrawn_of(store, written)
    standing = tuple(one for one in written if one.id not in gone)
    return Correction(name, rulings[0].by, rulings[0].entered, rulings[0].reason or "", written, standing)


def take_correction_back(store: RecordStore, by: str, name: str) -> int:
    """Withdraw all entries of a correction that stand; gives how many. Raises NothingSuch, NotAllowed for somebody else's."""
    found = read_correction(store, name)
    if found.by != by:
        raise NotAllowed(
            "%(name)s was written by %(by)s, and only who wrote it takes it back: correct it anew instead", name=name, by=found.by
        )
    with store.office(by) as office:
        standing = read_correction(store, name).standing
        for one in reversed(standing):
            office.write(EntryWithdrawn, one.subject, one.survey, target=one.id, batch=name)
    return len(standing)


def corrections_among(store: RecordStore, entries: Iterable[BaseEntry]) -> list[Correction]:
    """The corrections that these entries are part of, newest first."""
    names = {one.batch for one in entries if isinstance(one, RulingGiven) and one.batch}
    found = [read_correction(store, name) for name in names if _is_name(name)]
    return sorted(found, key=lambda one: (one.at, one.name), reverse=True)


def _is_name(name: str) -> bool:
    return re.fullmatch(r"[a-z0-9]+-[0-9]{1,15}-[0-9]{1,6}", name) is not None


def _parts(name: str) -> tuple[str, int, int]:
    if not _is_name(name):
        raise NothingSuch("there is no correction %(name)s in the record", name=name[:80])
    writer, first, count = name.split("-")
    return writer, int(first), int(count)
