"""Questions that somebody at the office looked at and left open, with a reason: the office's notes on a fact.

Such a note settles nothing. It speaks for what its author had in front of them: where something else came since, the
question is to be looked at again.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy import Connection

from server.review.entries import entries_named
from server.review.statements import withdrawn_in
from server.store.record import StoredEntry
from shared_schema.entries import NoteMade
from shared_schema.fold import Finding, Slot
from shared_schema.ids import is_office

__all__ = ["Kept", "kept_facts", "kept_of"]


@dataclass(frozen=True, slots=True)
class Kept:
    """Somebody looked, and left it open. `holds`: nothing came into dispute since that was not in front of them."""

    entry: NoteMade
    received: datetime
    holds: bool


def kept_of(fact: str, slot: Slot | None, stored: Sequence[StoredEntry]) -> Kept | None:
    """Such a note on a fact among the entries of its group, not one that was taken back; of several the last that holds."""
    withdrawn = withdrawn_in([one.entry for one in stored if one.entry is not None])
    notes = [
        (slot is not None and _saw(one.entry, slot), one.received_ms, one.entry.entry_id, one.entry)
        for one in stored
        if isinstance(one.entry, NoteMade) and _leaves_open(one.entry, fact) and one.id not in withdrawn
    ]
    if not notes:
        return None
    holds, received, _, entry = max(notes, key=lambda note: note[:3])
    return Kept(entry, datetime.fromtimestamp(received / 1000, UTC), holds)


def kept_facts(connection: Connection, nursery: int, findings: Iterable[Finding]) -> set[tuple[str, str]]:
    """(subject, fact) of those open facts of these findings that somebody looked at, as they are, and left open."""
    notes: dict[str, Finding] = {}
    for finding in findings:
        slot = finding.slots.get("note")
        if slot is not None and any(isinstance(body, dict) and body.get("fact") in finding.open for body in slot.value):
            notes.update(dict.fromkeys(slot.heads, finding))
    return {
        (entry.subject, fact)
        for name, entry in _notes(connection, nursery, notes).items()
        for fact in notes[name].open
        if _leaves_open(entry, fact) and _saw(entry, notes[name].slots[fact])
    }


def _notes(connection: Connection, nursery: int, names: Collection[str]) -> dict[str, NoteMade]:
    found = entries_named(connection, nursery, names)
    return {name: entry for name, entry in found.items() if isinstance(entry, NoteMade)}


def _leaves_open(entry: NoteMade, fact: str) -> bool:
    return entry.fact == fact and is_office(entry.writer)


def _saw(entry: NoteMade, slot: Slot) -> bool:
    return slot.open and set(slot.disputed) <= set(entry.replaces)
