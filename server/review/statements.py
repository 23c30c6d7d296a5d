"""What was said of one fact, by whom, when and how: the statements of a slot, for a person to compare."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from typing import Any

from server.store.record import StoredEntry
from shared_schema.entries import ConditionSeen, EntryWithdrawn, NoteMade, RulingGiven
from shared_schema.envelope import BaseEntry
from shared_schema.fold import Slot

__all__ = ["Statement", "statements_of", "withdrawn_in"]


@dataclass(frozen=True, slots=True)
class Statement:
    """One entry as it speaks of one fact.

    `disputed`: it is one of those that disagree. `head`: nobody replaced it. `withdrawn`: its author took it back.
    `beside` are the other facts of the same entry, `notes` what was written about it. `received` is in the time zone of
    `entered`; `clock_off_s` is how far the clock of the tablet that brought it was ahead, in seconds.
    """

    entry: BaseEntry
    value: Any
    disputed: bool
    head: bool
    withdrawn: bool
    beside: Mapping[str, Any]
    notes: tuple[str, ...]
    received: datetime
    via: str
    clock_off_s: int

    @property
    def is_ruling(self) -> bool:
        """Whether it is the office that settles something."""
        return isinstance(self.entry, RulingGiven)

    @property
    def reason(self) -> str | None:
        """Why, where the entry gives a reason."""
        return getattr(self.entry, "reason", None)

    @property
    def by_sign_off(self) -> bool:
        """Whether nobody tapped it: it came by signing a page off."""
        return isinstance(self.entry, ConditionSeen) and self.entry.basis == "signed_off"


def statements_of(fact: str, slot: Slot | None, stored: Sequence[StoredEntry]) -> tuple[Statement, ...]:
    """The statements of a slot among the entries of its group: those in dispute first, then the others, each by entry id.

    That order says nothing about who is right; the order in which they came would.
    """
    understood = [(one, one.entry) for one in stored if one.entry is not None]
    entries = [entry for _, entry in understood]
    withdrawn = withdrawn_in(entries)
    found = [
        _statement(one, entry, fact, slot, entries, entry.id in withdrawn)
        for one, entry in understood
        if any(name == fact for name, _ in entry.facts())
    ]
    return tuple(sorted(found, key=lambda one: (not one.disputed, one.withdrawn, one.entry.id)))


def withdrawn_in(entries: Iterable[BaseEntry]) -> frozenset[str]:
    """The ids of those entries of a group that their own authors took back."""
    by_id = {entry.id: entry for entry in entries}
    return frozenset(
        entry.target
        for entry in by_id.values()
        if isinstance(entry, EntryWithdrawn) and entry.target in by_id and by_id[entry.target].by == entry.by
    )


def _statement(
    one: StoredEntry, entry: BaseEntry, fact: str, slot: Slot | None, group: Sequence[BaseEntry], withdrawn: bool
) -> Statement:
    said = dict(entry.facts())
    offset = entry.entered.utcoffset() or timedelta()
    notes = [note.text for note in group if isinstance(note, NoteMade) and note.about == entry.id]
    return Statement(
        entry=entry,
        value=said.pop(fact),
        disputed=slot is not None and entry.id in slot.disputed,
        head=slot is not None and entry.id in slot.heads,
        withdrawn=withdrawn,
        beside=said,
        notes=tuple(notes),
        received=datetime.fromtimestamp(one.received_ms / 1000, timezone(offset)),
        via=one.via,
        clock_off_s=one.clock_off_s,
    )
