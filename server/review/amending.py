"""Amending: one fact of a fragment, in one survey or in its first record, is put right by the office."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from server.review.calendar import plans_in
from server.review.drafts import Draft, Step, draft, said_of
from server.review.sound import check_value
from server.review.statements import Statement
from server.store.engine import reading
from server.store.record import RecordStore
from shared_schema.entries import KINDS
from shared_schema.errors import NothingSuch, SchemaError
from shared_schema.facts import FACTS, value_key
from shared_schema.fold import Slot

__all__ = ["AMENDABLE", "Amendable", "draft_amendment", "read_amendable", "surveys_to_amend"]

_STATED: Final = {name for kind in KINDS.values() if "fragment" in kind.SORTS for name in kind.STATES}
AMENDABLE: Final[tuple[str, ...]] = tuple(name for name in FACTS if name in _STATED)
"""The facts that a fragment has."""


@dataclass(frozen=True, slots=True)
class Amendable:
    """A fact with all that is said of it. `slot` is None where nobody says anything."""

    subject: str
    survey: str
    fact: str
    slot: Slot | None
    statements: tuple[Statement, ...]


def surveys_to_amend(store: RecordStore) -> Mapping[str, str | None]:
    """Every survey with its name, newest first; "" is what belongs to none."""
    with reading(store.engine) as connection:
        plans = plans_in(connection, store.nursery)
    return {**{survey: plan.name for survey, plan in plans.items()}, "": None}


def read_amendable(store: RecordStore, fragment: str, survey: str, fact: str) -> Amendable:
    """A fact of a fragment in a survey. Raises NothingSuch where there is no such fragment, survey or fact."""
    subject = f"fragment:{fragment}"
    if not store.standing(subject).facts:
        raise NothingSuch("there is no fragment %(name)s in the record: look at its tag again", name=fragment[:80])
    if fact not in AMENDABLE:
        raise NothingSuch("a fragment has no fact %(what)s: choose one of the list", what=fact[:40])
    if survey not in surveys_to_amend(store):
        raise NothingSuch("there is no survey %(name)s in the record: choose one of the list", name=survey[:40])
    return Amendable(subject, survey, fact, *said_of(store, subject, survey, fact))


def draft_amendment(store: RecordStore, what: Amendable, value: Any) -> Draft:
    """What the office would write. Raises SchemaError for a value that cannot be, or that stands already."""
    check_value(store, what.subject, what.fact, value)
    slot = what.slot
    if slot is not None and not slot.open and value_key(slot.value) == value_key(FACTS[what.fact].check(value)):
        raise SchemaError("%(fact)s: “%(value)s” is what stands already. Give another value.", fact=what.fact, value=value)
    return draft(store, [Step(what.subject, what.survey, what.fact, value)])
