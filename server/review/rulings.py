"""Rulings: the office settles a question, having seen what was shown, or leaves it open; both can be taken back."""

from collections.abc import Collection
from typing import Any

from sqlalchemy import select
from sqlmodel import col

from server.review.answers import Word, word_of
from server.review.questions import Key, Question, read_question
from server.review.sound import checked_value
from server.store.engine import reading
from server.store.models import EntryRow
from server.store.record import RecordStore
from shared_schema.entries import EntryWithdrawn, NoteMade, RulingGiven, read_entry
from shared_schema.errors import NotAllowed, NothingSuch, SchemaError
from shared_schema.facts import value_key
from shared_schema.ids import parse_entry_id

__all__ = ["find_ruling", "give_ruling", "keep_open", "take_ruling_back"]


def give_ruling(
    store: RecordStore, by: str, question: Question, value: Any, shown: Collection[str], reason: str | None
) -> Question:
    """Settle a question with a value. The ruling sees the statements that were `shown` and no others.

    Gives the question as it is then: what arrived meanwhile and says otherwise keeps it open. A ruling that would repeat
    the one that holds is not given again. Raises SchemaError for a value that the fact cannot have.
    """
    key = question.key
    checked = checked_value(key.fact, value)
    with store.office(by) as office:
        # The nursery is locked now: what is read here is what the ruling will meet.
        present = read_question(store, key.survey, key.subject, key.fact)
        seen = tuple(sorted(frozenset(shown) & frozenset(present.shown)))
        if not _would_repeat(present, checked, seen):
            office.write(
                RulingGiven,
                key.subject,
                key.survey,
                fact=key.fact,
                value=value,
                replaces=seen,
                reason=reason,
            )
    return read_question(store, key.survey, key.subject, key.fact)


def _would_repeat(present: Question, value: Any, seen: Collection[str]) -> bool:
    held = present.ruling
    if held is None or present.open:
        return False
    return value_key(held.value) == value_key(value) and held.entry.id not in seen


def keep_open(store: RecordStore, by: str, question: Question, shown: Collection[str], reason: str) -> Question:
    """Say that somebody looked at the statements that were `shown`, and why the question stays open all the same.

    Gives the question as it is then: one that is settled meanwhile is left as it is. Raises SchemaError without a reason.
    """
    key, words = question.key, reason.strip()
    if not words:
        raise SchemaError("Say why it stays open: whoever dives next reads it.")
    with store.office(by) as office:
        present = read_question(store, key.survey, key.subject, key.fact)
        seen = tuple(sorted(frozenset(shown) & frozenset(present.shown)))
        said = present.kept
        again = said is not None and (said.entry.by, said.entry.text) == (by, words) and set(seen) <= set(said.entry.replaces)
        if present.open and not again:
            own = () if said is None or said.entry.by != by else (said.entry.id,)
            office.write(NoteMade, key.subject, key.survey, text=words, fact=key.fact, replaces=(*seen, *own))
    return read_question(store, key.survey, key.subject, key.fact)


def find_ruling(store: RecordStore, ruling: str) -> Key:
    """The question that a ruling answers or a note leaves open, by the entry's id. Raises BadId, NothingSuch."""
    return _key(_word(store, ruling))


def take_ruling_back(store: RecordStore, by: str, ruling: str) -> Question:
    """Withdraw a ruling, or a note that leaves a question open; the question is then as it was before it.

    Raises BadId, NothingSuch where there is no such word, NotAllowed where somebody else gave it.
    """
    entry = _word(store, ruling)
    key = _key(entry)
    if entry.by != by:
        raise NotAllowed(
            "%(ruling)s was given by %(who)s, and only who gave a ruling takes it back: rule anew instead",
            ruling=ruling,
            who=entry.by,
        )
    with store.office(by) as office:
        said = (one.entry for one in store.entries_of(key.survey, key.subject))
        if not any(isinstance(one, EntryWithdrawn) and one.target == ruling and one.by == by for one in said):
            office.write(EntryWithdrawn, key.subject, key.survey, target=ruling)
    return read_question(store, key.survey, key.subject, key.fact)


def _key(word: Word) -> Key:
    return Key(word.survey, word.subject, word.fact or "")


def _word(store: RecordStore, name: str) -> Word:
    writer, number = parse_entry_id(name)
    with reading(store.engine) as connection:
        raw = connection.execute(
            select(col(EntryRow.raw)).where(
                col(EntryRow.nursery) == store.nursery,
                col(EntryRow.writer) == writer,
                col(EntryRow.number) == number,
                col(EntryRow.set_aside).is_(None),
            )
        ).scalar_one_or_none()
    word = word_of(None if raw is None else read_entry(raw))
    if word is None:
        raise NothingSuch("there is no ruling %(ruling)s in the record", ruling=name)
    return word
