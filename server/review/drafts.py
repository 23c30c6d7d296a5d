"""Drafts: exactly what the office would write, what that replaces, and what would stand afterwards; then the writing of it.

What a draft shows is what is written. It has a seal that stands for all that it rests on: writing asks for it, so that
nothing that came meanwhile is covered without having been seen.
"""

import hashlib
import json
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from typing import Any, Final

from server.review.batches import BatchSort, batch_name
from server.review.discrepancies import discrepancies_of
from server.review.foresight import Foresight, foresee
from server.review.sound import checked_value
from server.review.statements import Statement, statements_of
from server.store.record import RecordStore, utc_now
from shared_schema.author import Author
from shared_schema.discrepancies import Discrepancy
from shared_schema.entries import GenetRegistered, RulingGiven
from shared_schema.errors import RecordError, SchemaError
from shared_schema.facts import value_key
from shared_schema.fold import Slot, Stand
from shared_schema.ids import OFFICE, split_subject

__all__ = ["Draft", "Planned", "Step", "draft", "said_of", "write_draft"]

_NOBODY: Final = f"{OFFICE}zzzz"
"""The writer of entries that are only thought of."""


@dataclass(frozen=True, slots=True)
class Step:
    """One entry to write: a ruling that a fact of a subject in a survey has a value; for a genet, its registration."""

    subject: str
    survey: str
    fact: str
    value: Any

    @property
    def registers(self) -> bool:
        """Whether it registers a genet."""
        return split_subject(self.subject)[0] == "genet"


@dataclass(frozen=True, slots=True)
class Planned:
    """A step with what is said of that fact now: `slot` is None where nobody says anything in that survey.

    `stood` is then what stands from another one.
    """

    step: Step
    slot: Slot | None
    statements: tuple[Statement, ...]
    stood: Stand | None = None

    @property
    def shown(self) -> tuple[str, ...]:
        """The ids of all statements of the fact, for the ruling to see."""
        return tuple(sorted(one.entry.id for one in self.statements))

    @property
    def confirms(self) -> bool:
        """Whether it leaves the value as it is."""
        return self.slot is not None and value_key(self.slot.value) == value_key(self.step.value)


@dataclass(frozen=True, slots=True)
class Draft:
    """What would be written, and the discrepancies of those concerned before and after."""

    planned: tuple[Planned, ...]
    before: tuple[Discrepancy, ...]
    after: Foresight
    seal: str

    @property
    def gone(self) -> tuple[Discrepancy, ...]:
        """What would add up again."""
        after = {_named(one) for one in self.after.discrepancies}
        return tuple(one for one in self.before if _named(one) not in after)

    @property
    def left(self) -> tuple[Discrepancy, ...]:
        """What would go on not adding up, in the words of then."""
        before = {_named(one) for one in self.before}
        return tuple(one for one in self.after.discrepancies if _named(one) in before)

    @property
    def new(self) -> tuple[Discrepancy, ...]:
        """What would not add up any more."""
        before = {_named(one) for one in self.before}
        return tuple(one for one in self.after.discrepancies if _named(one) not in before)


def _named(one: Discrepancy) -> tuple[str, str, tuple[str, ...]]:
    """What its address says of it."""
    return one.sort, one.survey, one.subjects


def draft(store: RecordStore, steps: Sequence[Step], about: Collection[str] = (), rests_on: Collection[str] = ()) -> Draft:
    """What these steps would write. `about` are further subjects concerned, `rests_on` the ids of entries that were weighed.

    Raises SchemaError for a value that its fact cannot have.
    """
    author = Author(_NOBODY, 0, "nobody", utc_now)
    planned = tuple(_planned(store, step) for step in steps)
    _write(author, planned, "preview")
    concerned = {*about, *(step.subject for step in steps)}
    names = sorted(split_subject(one)[1] for one in concerned if split_subject(one)[0] == "fragment")
    before = tuple(sorted({one for name in names for one in discrepancies_of(store, name)}))
    after = foresee(store, author.written, concerned)
    return Draft(planned, before, after, _seal(planned, before, after.discrepancies, rests_on))


def _planned(store: RecordStore, step: Step) -> Planned:
    checked_value(step.fact, step.value)
    slot, statements = said_of(store, step.subject, step.survey, step.fact)
    stood = store.standing(step.subject).facts.get(step.fact) if slot is None else None
    return Planned(step, slot, statements, stood)


def said_of(store: RecordStore, subject: str, survey: str, fact: str) -> tuple[Slot | None, tuple[Statement, ...]]:
    """What is said of a fact: its slot, None where nobody says anything, and all statements."""
    slot = store.finding(survey, subject).slots.get(fact)
    return slot, statements_of(fact, slot, store.entries_of(survey, subject))


def _seal(
    planned: Sequence[Planned], before: Sequence[Discrepancy], after: Sequence[Discrepancy], rests_on: Collection[str]
) -> str:
    steps = [[one.step.subject, one.step.survey, one.step.fact, value_key(one.step.value), one.shown] for one in planned]
    words = [[(one.sort, one.subjects, one.survey, one.detail) for one in several] for several in (before, after)]
    return hashlib.sha256(json.dumps([steps, words, sorted(rests_on)]).encode()).hexdigest()


def write_draft(
    store: RecordStore, by: str, present: Callable[[], Draft], seal: str, reason: str, sort: BatchSort = "correction"
) -> str:
    """Write what was shown, in one transaction; gives the name of the correction, or of the repair.

    `present` makes the draft anew. Raises RecordError where something came meanwhile, SchemaError without a reason.
    """
    words = reason.strip()
    if not words:
        raise SchemaError("No reason was given: say why, for whoever asks later.")
    with store.office(by) as office:
        # The nursery is locked now: what is read here is what the entries will meet.
        now = present()
        if now.seal != seal:
            raise RecordError("Something came in while you looked: see what it would do now, then write it.")
        name = batch_name(office.writer, office.last + 1, len(now.planned), sort)
        _write(office, now.planned, name, words)
    return name


def _write(author: Author, planned: Sequence[Planned], batch: str, reason: str | None = None) -> None:
    for one in planned:
        step = one.step
        if step.registers:
            author.write(GenetRegistered, step.subject, step.survey, name=step.value, replaces=one.shown)
            continue
        author.write(
            RulingGiven,
            step.subject,
            step.survey,
            fact=step.fact,
            value=step.value,
            replaces=one.shown,
            reason=reason,
            batch=batch,
        )
