"""What each fragment on a structure measures, for a map that is coloured by something else than condition."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from statistics import median
from typing import Final, Literal, TypeAlias

from sqlalchemy import Connection

from server.review.calendar import Plan
from server.review.growth import Growth
from server.review.maps import Sighting, StructureMap, maps_in
from server.review.measures import genets_of, growth_by, last_day, planted_on, seen_last
from server.review.remembering import remembered
from server.review.structures import natural
from server.review.surveys import plan_of, read_whole
from server.store.engine import reading
from server.store.record import RecordStore

__all__ = ["MEASURES", "Coloured", "Measure", "Measured", "Nursery", "look_over_nursery", "measure_structure"]

Measure: TypeAlias = Literal["genet", "age", "growth", "seen"]
MEASURES: Final[tuple[Measure, ...]] = ("genet", "age", "growth", "seen")


@dataclass(frozen=True, slots=True)
class Measured:
    """One value of a fragment: a genet's name, a number of days, or mm a year; `growth` and `day` say where it comes from."""

    value: str | int | Decimal
    day: date | None = None
    growth: Growth | None = None


@dataclass(frozen=True, slots=True)
class Coloured:
    """A structure in a survey with what each fragment on it measures; whoever is not in `values` was not measured."""

    map: StructureMap
    values: Mapping[str, Measured]

    @property
    def mine(self) -> list[Measured]:
        """The values of what hangs here."""
        return [self.values[one.subject] for one in self.map.sightings if one.subject in self.values]

    @property
    def unmeasured(self) -> int:
        """How many hang here of which nothing was measured."""
        return len(self.map.sightings) - len(self.mine)

    @property
    def median(self) -> Decimal | None:
        """The middle one of the numbers, None where there is none."""
        numbers = [Decimal(one.value) for one in self.mine if not isinstance(one.value, str)]
        return median(numbers) if numbers else None

    @property
    def different(self) -> int:
        """How many different values there are."""
        return len({one.value for one in self.mine})

    @property
    def rows(self) -> list[Sighting]:
        """In reading order."""
        return sorted(self.map.sightings, key=lambda one: (natural(one.place), one.subject))


@dataclass(frozen=True, slots=True)
class Nursery:
    """Some structures of a survey, from `first` (counted from 0) of `total`, by location; `until` is the day counted to."""

    plan: Plan
    until: date
    first: int
    total: int
    locations: Mapping[str, list[Coloured]] = field(default_factory=dict)


def measure_structure(store: RecordStore, survey: str, found: StructureMap, by: Measure) -> tuple[Coloured, date]:
    """A structure's map with its fragments measured, and the day that days are counted to. Raises NothingSuch."""
    with reading(store.engine) as connection:
        plan = plan_of(connection, store.nursery, survey)
        until = last_day(plan)
        subjects = {one.subject for one in found.sightings}
        return Coloured(found, _measure(connection, store.nursery, subjects, plan, by)), until


def look_over_nursery(store: RecordStore, survey: str, by: Measure | None, first: int, limit: int) -> Nursery:
    """The structures of a survey, measured; `by` None leaves them at condition. Raises NothingSuch."""
    with reading(store.engine) as connection:

        def work_out() -> Nursery:
            return _nursery(store, connection, survey, by, first, limit)

        return remembered(connection, store.nursery, "nursery", f"{survey} {by} {first} {limit}", work_out, most=12)


def _nursery(store: RecordStore, connection: Connection, survey: str, by: Measure | None, first: int, limit: int) -> Nursery:
    whole = read_whole(store, connection, survey)
    plan, names = whole.summary.plan, list(whole.hung)
    some = {name: whole.hung[name] for name in names[first : first + limit]}
    maps = maps_in(connection, store.nursery, survey, some, whole.missed)
    subjects = {one.subject for each in maps.values() for one in each.sightings}
    values = {} if by is None else _measure(connection, store.nursery, subjects, plan, by)
    locations: dict[str, list[Coloured]] = {}
    for each in maps.values():
        locations.setdefault(each.hung.location or "", []).append(Coloured(each, values))
    return Nursery(plan, last_day(plan), first, len(names), dict(sorted(locations.items(), key=lambda each: natural(each[0]))))


def _measure(connection: Connection, nursery: int, subjects: Collection[str], plan: Plan, by: Measure) -> dict[str, Measured]:
    subjects = [subject for subject in subjects if subject.startswith("fragment:")]
    until = last_day(plan)
    if by == "genet":
        return {subject: Measured(genet) for subject, genet in genets_of(connection, nursery, subjects).items()}
    if by == "growth":
        grown = growth_by(connection, nursery, subjects, plan.survey)
        return {subject: Measured(growth.mm_a_year, growth=growth) for subject, growth in grown.items()}
    days = planted_on(connection, nursery, subjects) if by == "age" else seen_last(connection, nursery, subjects, plan.survey)
    return {subject: Measured(max(0, (until - day).days), day) for subject, day in days.items()}
