"""Planning a survey: which structures, in which days, who goes. The command line and the pages plan by this alone."""

from calendar import monthrange
from collections.abc import Callable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from typing import Any, Final, Literal, TypeAlias

from sqlalchemy import select
from sqlmodel import col

from server.registry.cells import read_date, read_survey, read_word
from server.store.engine import reading
from server.store.models import StandingRow
from server.store.record import RecordStore
from shared_schema.entries import SurveyPlanned
from shared_schema.errors import SchemaError
from shared_schema.fold import Finding
from shared_schema.ids import split_subject
from shared_schema.sayings import Saying, say

__all__ = ["Asked", "Fault", "PlanField", "PlanRefused", "plan_survey", "span_of"]

PlanField: TypeAlias = Literal["survey", "name", "opens", "closes", "structures", "people"]

_LABELS: Final = "abcdefghijklmnopqrstuvwxyz"
_NO_SUCH: Final = say("there is none of that name in the record: load it first, or leave it out")
_PLANNED: Final = say("it is planned already: change that plan, or choose another name, as with a letter after it")
_CHANGED: Final = say("somebody planned it anew while you looked: open the page again, and change what it says now")
_REASONS: Final[Mapping[PlanField, Saying]] = {
    "survey": say("no survey name: write its month or day, with a letter where there are several, as 2026-11b"),
    "name": say("too long, or with a line end in it: write at most 200 characters"),
}


@dataclass(frozen=True, slots=True)
class Asked:
    """A plan as somebody asks for it, each field as text.

    Unless given, a survey is called as its id, and lasts as its id says: that day, or that month. `structures` None means
    all there are; `people` may be empty: then the plan names nobody.
    """

    survey: str
    name: str = ""
    opens: str = ""
    closes: str = ""
    structures: Sequence[str] | None = None
    people: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing to mend in a plan: the field, what stands in it, and what to write instead."""

    field: PlanField
    value: str
    reason: Saying

    def __str__(self) -> str:
        return f"{self.field} {self.value!r}: {self.reason}"


class PlanRefused(SchemaError):
    """A plan cannot be as it was asked for, and nothing was written. `faults` are all of them, in the order of the fields."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(map(str, self.faults)))


def plan_survey(
    store: RecordStore, asked: Asked, *, by: str = "office", new: bool = False, seen: Sequence[str] | None = None
) -> bool:
    """Plan a survey, or plan it anew where it was planned before; gives whether anything had to be written.

    `new`: it must not be planned yet. `seen`: ids of the entries that the planner had in front of them, where that is
    known; a plan that somebody else changed meanwhile is not covered. Raises PlanRefused, StorageError.
    """
    with store.office(by) as author:
        stated = store.finding("", f"survey:{asked.survey}")
        faults = [*_faults(store, asked), *_against(asked.survey, stated, new, seen)]
        if faults:
            raise PlanRefused(faults)
        fields = _fields(store, asked, stated)
        if all(name in stated.slots and _same(stated.slots[name].value, value) for name, value in fields.items()):
            return False
        heads = sorted(_heads(stated))
        author.write(SurveyPlanned, f"survey:{asked.survey}", replaces=tuple(heads), **fields)
    return True


def span_of(survey: str) -> tuple[str, str]:
    """The first and last day that a survey's name says. Raises CellError for one that is no name."""
    day = read_survey(survey).rstrip(_LABELS)
    if len(day) == 10:
        return read_date(day), day
    year, month = day.split("-")
    return read_date(f"{day}-01"), f"{day}-{monthrange(int(year), int(month))[1]:02}"


def _fields(store: RecordStore, asked: Asked, stated: Finding) -> dict[str, Any]:
    first, last = span_of(asked.survey)
    everything = asked.structures is None
    fields: dict[str, Any] = {
        "name": asked.name or asked.survey,
        "opens": asked.opens or first,
        "closes": asked.closes or last,
        "structures": tuple(sorted(_named(store, "structure"))) if everything else tuple(dict.fromkeys(asked.structures or ())),
    }
    if asked.people or "people" in stated.slots:
        fields["people"] = tuple(dict.fromkeys(asked.people))
    return fields


def _same(held: object, value: object) -> bool:
    return (tuple(held) if isinstance(held, list) else held) == value


def _heads(stated: Finding) -> set[str]:
    return {head for fact, slot in stated.slots.items() if fact in SurveyPlanned.STATES for head in slot.heads}


def _faults(store: RecordStore, asked: Asked) -> Iterator[Fault]:
    """What is wrong with a plan by itself, and with the names in it."""
    yield from _unreadable("survey", asked.survey, span_of)
    yield from _unreadable("name", asked.name, read_word)
    yield from _of_days(asked)
    names_of: tuple[tuple[PlanField, str, Sequence[str]], ...] = (
        ("structures", "structure", asked.structures or ()),
        ("people", "person", asked.people),
    )
    for field, sort, names in names_of:
        there = _named(store, sort)
        for name in dict.fromkeys(names):
            if name not in there:
                yield Fault(field, name, _NO_SUCH)
    if asked.structures is not None and not asked.structures:
        yield Fault("structures", "", say("none is chosen: choose at least one, or there is nothing to look at"))


def _unreadable(field: PlanField, text: str, read: Callable[[str], object]) -> Iterator[Fault]:
    try:
        read(text)
    except SchemaError as error:
        yield Fault(field, text, _REASONS.get(field) or Saying(str(error).replace("%", "%%")))


def _of_days(asked: Asked) -> Iterator[Fault]:
    days: tuple[tuple[PlanField, str], ...] = (("opens", asked.opens), ("closes", asked.closes))
    wrong = [fault for field, text in days if text for fault in _unreadable(field, text, read_date)]
    yield from wrong
    if wrong or any(_unreadable("survey", asked.survey, span_of)):
        return
    first, last = span_of(asked.survey)
    opens, closes = asked.opens or first, asked.closes or last
    if closes < opens:
        yield Fault("closes", closes, say("it would close before it opens on %(day)s: exchange the two days", day=opens))


def _against(survey: str, stated: Finding, new: bool, seen: Sequence[str] | None) -> Iterator[Fault]:
    """What is wrong with a plan, given what was planned before."""
    if new and stated.slots:
        yield Fault("survey", survey, _PLANNED)
    elif seen is not None and _heads(stated) != set(seen):
        yield Fault("survey", survey, _CHANGED)


def _named(store: RecordStore, sort: str) -> Set[str]:
    with reading(store.engine) as connection:
        subjects = connection.execute(
            select(col(StandingRow.subject)).where(col(StandingRow.nursery) == store.nursery, col(StandingRow.sort) == sort)
        ).scalars()
        return {split_subject(subject)[1] for subject in subjects}
