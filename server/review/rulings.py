"""Rulings: the office settles a question, having seen what was shown, and can take that back."""

from collections.abc import Collection
from typing import Any

from pydantic import ValidationError
from sqlalchemy import select
from sqlmodel import col

from server.review.questions import Key, Question, read_question
from server.store.engine import reading
from server.store.models import EntryRow
from server.store.record import RecordStore
from shared_schema.entries import EntryWithdrawn, RulingGiven, read_entry
from shared_schema.errors import NotAllowed, NothingSuch, SchemaError
from shared_schema.facts import FACTS, value_key
from shared_schema.ids import parse_entry_id

__all__ = ["find_ruling", "give_ruling", "take_ruling_back"]


def give_ruling(
    store: RecordStore, by: str, question: Question, value: Any, shown: Collection[str], reason: str | None
) -> Question:
    """Settle a question with a value. The ruling sees the statements that were `shown` and no others.

    Gives the question as it is then: what arrived meanwhile and says otherwise keeps it open. A ruling that would repeat
    the one that holds is not given again. Raises SchemaError for a value that the fact cannot have.
    """
    key = question.key
    try:
        checked = FACTS[key.fact].check(value)
    except ValidationError as error:
        problem = error.errors(include_url=False)[0]["msg"]
        raise SchemaError("%(fact)s = %(value)r: %(problem)s", fact=key.fact, value=value, problem=problem) from error
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


def find_ruling(store: RecordStore, ruling: str) -> Key:
    """The question that a ruling answers, by the ruling's id. Raises BadId, NothingSuch."""
    entry = _ruling(store, ruling)
    return Key(entry.survey, entry.subject, entry.fact)


def take_ruling_back(store: RecordStore, by: str, ruling: str) -> Question:
    """Withdraw a ruling; what it settled is as open as before. Gives its question as it is then.

    Raises BadId, NothingSuch where there is no such ruling, NotAllowed where somebody else gave it.
    """
    entry = _ruling(store, ruling)
    if entry.by != by:
        raise NotAllowed(
            "%(ruling)s was given by %(who)s, and only who gave a ruling takes it back: rule anew instead",
            ruling=ruling,
            who=entry.by,
        )
    with store.office(by) as office:
        present = read_question(store, entry.survey, entry.subject, entry.fact)
        if not any(one.entry.id == ruling and one.withdrawn for one in present.statements):
            office.write(EntryWithdrawn, entry.subject, entry.survey, target=ruling)
    return read_question(store, entry.survey, entry.subject, entry.fact)


def _ruling(store: RecordStore, ruling: str) -> RulingGiven:
    writer, number = parse_entry_id(ruling)
    with reading(store.engine) as connection:
        raw = connection.execute(
            select(col(EntryRow.raw)).where(
                col(EntryRow.nursery) == store.nursery,
                col(EntryRow.writer) == writer,
                col(EntryRow.number) == number,
                col(EntryRow.set_aside).is_(None),
            )
        ).scalar_one_or_none()
    entry = None if raw is None else read_entry(raw)
    if not isinstance(entry, RulingGiven):
        raise NothingSuch("there is no ruling %(ruling)s in the record", ruling=ruling)
    return entry
