"""How anything gets written on a tablet: drafts become numbered entries, all of an action or none, and can be withdrawn."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from typing import Any, NamedTuple

from pydantic import JsonValue, ValidationError

from mobile.row import read_line
from mobile.store import Store
from shared_schema.author import Author
from shared_schema.entries import BaseEntry, EntryWithdrawn
from shared_schema.errors import NothingSuch, SchemaError
from shared_schema.facts import FACTS
from shared_schema.ids import EntryId, parse_entry_id, split_subject

__all__ = ["Action", "Draft", "Pen"]


@dataclass(frozen=True, slots=True)
class Action:
    """What was done, and the entries that say so, in the order of their numbers."""

    label: str
    entries: tuple[BaseEntry, ...]

    @property
    def fragment(self) -> str:
        """The fragment that was planted, moved, marked ...: the last one that an entry speaks of. Raises NothingSuch."""
        names = [name for sort, name in (split_subject(entry.subject) for entry in self.entries) if sort == "fragment"]
        if not names:
            raise NothingSuch(f"{self.label}: no fragment was spoken of")
        return names[-1]


class Draft(NamedTuple):
    """An entry to be: its kind, its subject, and the kind's own fields."""

    kind: type[BaseEntry]
    subject: str
    fields: dict[str, Any]


class Pen:
    """Writes the entries of one person in one survey. Everything that it writes is on disk when the method returns."""

    def __init__(self, store: Store, survey: str, by: str, clock: Callable[[], datetime], typed_by: str | None = None) -> None:
        self.store, self.survey, self.by, self.typed_by, self.clock = store, survey, by, typed_by, clock

    def fresh_name(self, ahead: int = 0) -> str:
        """A name that no other tablet gives: the id of the entry that comes next, or `ahead` after it.

        Ask and write in one transaction. Should the entry get another id, the name follows (see outbox.py).
        """
        writer = self.store.identities.own.writer
        return str(EntryId(writer, self.store.last(writer) + 1 + ahead))

    def write(self, label: str, where: str, drafts: list[Draft], visit: str | None = None, **settings: JsonValue) -> Action:
        """Write all drafts, and keep settings, as one action that can be undone.

        Raises SchemaError where a draft makes no entry.
        """
        with self.store.database.writing():
            with self._writing() as author:
                for draft in drafts:
                    self._write(author, draft, visit)
            if author.written or settings:
                before = {name: self.store.settings.get(name) for name in settings}
                self.store.settings.put(**settings)
                self.store.undo.push(label, where, tuple(entry.id for entry in author.written), before)
            return Action(label, tuple(author.written))

    def undo(self) -> Action | None:
        """Withdraw the entries of the last action; None where there is none to take back."""
        with self.store.database.writing():
            done = self.store.undo.last
            if done is None:
                return None
            with self._writing() as author:
                for name in reversed(done.entries):
                    line = self.store.line(parse_entry_id(name))
                    entry = None if line is None else read_line(line)
                    if isinstance(entry, EntryWithdrawn):
                        self._say_again(author, entry)
                    elif entry is not None:
                        self._withdraw(author, entry)
            self.store.settings.put(**done.put_back)
            self.store.undo.drop(done.number)
            return Action(f"undone: {done.label}", tuple(author.written))

    @contextmanager
    def _writing(self) -> Iterator[Author]:
        with self.store.database.writing():
            writer = self.store.identities.own.writer
            author = Author(writer, self.store.last(writer), self.by, self.clock, self.typed_by)
            yield author
            self.store.write_own(author.written)

    def _write(self, author: Author, draft: Draft, visit: str | None) -> None:
        try:
            entry = author.write(draft.kind, draft.subject, self.survey, visit=visit, **draft.fields)
        except ValidationError as error:
            first = error.errors(include_url=False)[0]
            where = ".".join(str(part) for part in first["loc"]) or draft.kind.__name__
            raise SchemaError(f"{where} = {repr(first.get('input'))[:80]}: {first['msg']}") from error
        replaced = self._in_front(entry)
        if replaced:
            author.written[-1] = entry.model_copy(update={"replaces": replaced})

    def _in_front(self, entry: BaseEntry) -> tuple[str, ...]:
        """What the author has in front of them of the facts that the entry states: the heads, and all that disagree."""
        finding = self.store.finding(entry.survey, entry.subject)
        if finding is None:
            return ()
        seen: set[str] = set()
        for fact, _ in entry.facts():
            slot = finding.slots.get(fact)
            if slot is not None and FACTS[fact].mode == "register":
                seen.update(slot.heads, slot.disputed)
            elif slot is not None and fact == "coverage":
                seen.update(self._own(entry, slot.heads))
        return tuple(sorted(seen))

    def _own(self, entry: BaseEntry, heads: tuple[str, ...]) -> Iterator[str]:
        """A page signed again by the same person is vouched for once; other people's words stand beside it."""
        for other in self.store.entries_of(entry.survey, entry.subject):
            if other.id in heads and other.by == entry.by:
                yield other.id

    def _say_again(self, author: Author, withdrawal: EntryWithdrawn) -> None:
        """A withdrawal cannot be withdrawn: what it took back is stated anew, by whom and as of when it was."""
        line = self.store.line(parse_entry_id(withdrawal.target))
        entry = None if line is None else read_line(line)
        if entry is None:
            return
        fields = {"by": entry.by, "typed_by": self._typist(entry), "observed": entry.observed, "visit": entry.visit}
        author.write(type(entry), entry.subject, entry.survey, **fields, **entry.payload())
        again = author.written[-1] = author.written[-1].model_copy(update={"replaces": self._in_front(author.written[-1])})
        self.store.undo.retarget({entry.id: again.id})  # whoever takes the first word back means this one now

    def _typist(self, entry: BaseEntry) -> str | None:
        return self.typed_by or (self.by if self.by != entry.by else None)

    def _withdraw(self, author: Author, entry: BaseEntry) -> None:
        # Only its author can take an entry back, whoever holds the tablet now.
        fields = {"by": entry.by, "typed_by": self._typist(entry), "visit": entry.visit}
        author.write(EntryWithdrawn, entry.subject, entry.survey, target=entry.id, **fields)
