"""What the office said of questions lately: for whoever has them open, and for whoever wants to take the last word back."""

from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from sqlalchemy import Connection, select
from sqlmodel import col

from server.review.bulk import is_of_rule
from server.review.questions import Key
from server.store.engine import reading
from server.store.models import EntryRow, NurseryRow, WriterRow
from server.store.record import RecordStore
from shared_schema.entries import EntryWithdrawn, NoteMade, RulingGiven, read_entry
from shared_schema.envelope import BaseEntry

__all__ = ["Answer", "LastWord", "Word", "answers_after", "office_head", "read_last_word", "word_of"]

Word: TypeAlias = RulingGiven | NoteMade
"""What the office says of a question: it is settled, or it was looked at and stays open."""

_LATELY: Final = 400
"""So many entries of the office are looked through. Who comes back after more sees the question itself."""


@dataclass(frozen=True, slots=True)
class Answer:
    """Somebody at the office said something of a question. `number` is the entry's."""

    number: int
    key: Key
    by: str
    at_ms: int
    what: Literal["settled", "kept_open", "taken_back"]


@dataclass(frozen=True, slots=True)
class LastWord:
    """The last thing that somebody said of a question and did not take back."""

    entry: Word
    key: Key

    @property
    def batch(self) -> str | None:
        """The name of the rulings that it was given with, where several were given as one."""
        return self.entry.batch if isinstance(self.entry, RulingGiven) else None

    @property
    def by_rule(self) -> bool:
        """Whether one rule gave it, and no correction that says its own reason."""
        reason = (self.entry.reason or "") if isinstance(self.entry, RulingGiven) else ""
        return self.batch is not None and is_of_rule(self.batch, reason)


def word_of(entry: BaseEntry | None) -> Word | None:
    """The entry, where it is the office's word on a question."""
    if isinstance(entry, RulingGiven) or (isinstance(entry, NoteMade) and entry.fact and entry.writer.startswith("office")):
        return entry
    return None


def office_head(connection: Connection, store: RecordStore) -> tuple[str, int]:
    """The office's writer, and how many entries it wrote."""
    found = connection.execute(
        select(col(NurseryRow.office), col(WriterRow.head))
        .join(WriterRow, (col(WriterRow.nursery) == col(NurseryRow.id)) & (col(WriterRow.writer) == col(NurseryRow.office)))
        .where(col(NurseryRow.id) == store.nursery)
    ).one_or_none()
    return ("", 0) if found is None else (found.office, found.head)


def answers_after(store: RecordStore, number: int) -> list[Answer]:
    """What the office said of questions after its entry of that number, last first; a question once."""
    found: dict[tuple[str, str, str], Answer] = {}
    for at_ms, entry in _newest_first(store, number):
        word = entry.target if isinstance(entry, EntryWithdrawn) else word_of(entry)
        if isinstance(word, str):
            word = word_of(_entry(store, word))
        if word is None:
            continue
        key = _key(word)
        what: Literal["settled", "kept_open", "taken_back"] = "settled" if isinstance(entry, RulingGiven) else "kept_open"
        if isinstance(entry, EntryWithdrawn):
            what = "taken_back"
        found.setdefault((key.survey, key.subject, key.fact), Answer(entry.entry_id.number, key, entry.by, at_ms, what))
    return list(found.values())


def read_last_word(store: RecordStore, by: str, survey: str) -> LastWord | None:
    """The last word of a person on a question of a survey, where it stands; None where there is none of late."""
    taken_back: set[str] = set()
    for _, entry in _newest_first(store, 0):
        if entry.by != by or entry.survey != survey:
            continue
        word = word_of(entry)
        if isinstance(entry, EntryWithdrawn):
            taken_back.add(entry.target)
        elif word is not None and entry.id not in taken_back:
            return LastWord(word, _key(word))
    return None


def _key(word: Word) -> Key:
    return Key(word.survey, word.subject, word.fact or "")


def _newest_first(store: RecordStore, after: int) -> list[tuple[int, BaseEntry]]:
    """(received in milliseconds, entry) of what the office wrote after a number, as far back as is looked."""
    with reading(store.engine) as connection:
        office, head = office_head(connection, store)
        rows = connection.execute(
            select(col(EntryRow.received), col(EntryRow.raw))
            .where(
                col(EntryRow.nursery) == store.nursery,
                col(EntryRow.writer) == office,
                col(EntryRow.number) > max(after, head - _LATELY),
                col(EntryRow.set_aside).is_(None),
            )
            .order_by(col(EntryRow.number).desc())
        ).all()
    return [(received, read_entry(raw)) for received, raw in rows]


def _entry(store: RecordStore, name: str) -> BaseEntry | None:
    writer, _, number = name.rpartition("-")
    with reading(store.engine) as connection:
        raw = connection.execute(
            select(col(EntryRow.raw)).where(
                col(EntryRow.nursery) == store.nursery,
                col(EntryRow.writer) == writer,
                col(EntryRow.number) == int(number),
                col(EntryRow.set_aside).is_(None),
            )
        ).scalar_one_or_none()
    return None if raw is None else read_entry(raw)
