"""Corrections: what the office wrote at once, with one reason, and can take back as one.

A correction is a batch (batches.py): its rulings bear the name; what else stands in that range belongs to it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import TypeAlias

from server.review.batches import batch_entries, is_batch_name
from server.review.entries import withdrawn_of
from server.store.record import RecordStore
from shared_schema.entries import EntryWithdrawn, GenetRegistered, RulingGiven
from shared_schema.envelope import BaseEntry
from shared_schema.errors import NotAllowed, NothingSuch

__all__ = ["Correction", "Written", "corrections_among", "read_correction", "take_correction_back"]

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

    @property
    def stand(self) -> frozenset[str]:
        """The ids of those that were not taken back."""
        return frozenset(one.id for one in self.standing)


def read_correction(store: RecordStore, name: str) -> Correction:
    """What was written as one. Raises NothingSuch."""
    entries = batch_entries(store, name)
    rulings = [one for one in entries if isinstance(one, RulingGiven) and one.batch == name]
    if not rulings:
        raise NothingSuch("there is no correction %(name)s in the record", name=name[:80])
    written = tuple(
        one for one in entries if isinstance(one, GenetRegistered) or (isinstance(one, RulingGiven) and one.batch == name)
    )
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
    found = [read_correction(store, name) for name in names if is_batch_name(name)]
    return sorted(found, key=lambda one: (one.at, one.name), reverse=True)
