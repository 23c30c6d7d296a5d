"""Batches: what the office wrote at once, and can take back as one.

A batch's name says where its entries are, and what it is: `<office writer>-<first number>-<how many>-<sort>`. Its rulings bear
the name. Names from before there were sorts end with how many.
"""

import re
from typing import Final, Literal, TypeAlias, cast

from sqlalchemy import select
from sqlmodel import col

from server.store.engine import reading
from server.store.models import EntryRow
from server.store.record import RecordStore
from shared_schema.entries import RulingGiven, read_entry
from shared_schema.envelope import BaseEntry

__all__ = ["BatchSort", "batch_entries", "batch_name", "batch_sort", "is_batch_name"]

BatchSort: TypeAlias = Literal["rule", "repair", "correction"]
"""What one rule settled; what put a discrepancy right; what somebody corrected of a coral."""

_NAME: Final = re.compile(r"([a-z0-9]{1,20})-([0-9]{1,15})-([0-9]{1,6})(?:-(rule|repair|correction))?")


def batch_name(writer: str, first: int, count: int, sort: BatchSort) -> str:
    """The name of what a writer writes as one."""
    return f"{writer}-{first}-{count}-{sort}"


def batch_sort(name: str) -> BatchSort | None:
    """What a batch is, as its name says; None for one from before names did."""
    found = _NAME.fullmatch(name)
    return cast("BatchSort", found[4]) if found and found[4] else None


def is_batch_name(text: str) -> bool:
    """Whether a text can be the name of a batch."""
    return _NAME.fullmatch(text) is not None


def batch_entries(store: RecordStore, name: str) -> list[BaseEntry]:
    """What stands where the name says, in order; empty where no ruling there bears the name."""
    found = _NAME.fullmatch(name)
    if found is None:
        return []
    writer, first, count = found[1], found[2], found[3]
    with reading(store.engine) as connection:
        lines = connection.execute(
            select(col(EntryRow.raw))
            .where(
                col(EntryRow.nursery) == store.nursery,
                col(EntryRow.writer) == writer,
                col(EntryRow.number).between(int(first), int(first) + int(count) - 1),
                col(EntryRow.set_aside).is_(None),
            )
            .order_by(col(EntryRow.number))
        ).scalars()
        entries: list[BaseEntry] = [read_entry(line) for line in lines]
    return entries if any(isinstance(one, RulingGiven) and one.batch == name for one in entries) else []
