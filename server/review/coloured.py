"""What each fragment on a structure measures, for a map that is coloured by something else than condition."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from itertools import islice
from statistics import median
from typing import Final, Literal, TypeAlias

from sqlalchemy import Connection

from server.review.calendar import Plan
from server.review.growth import Growth
from server.review.maps import Sighting, StructureMap, maps_in
from server.review.measures import genets_of, growth_by, last_day, planted_on, seen_last
from server.review.remembering import Shelf, remembered
from server.review.structures import natural
from server.review.touched import Touched
from server.review.wholes import plan_of, read_whole
from server.store.engine import reading
from server.store.record import RecordStore

__all__ = ["MEASURES", "Coloured", "Measure", "Measured", "Nursery", "look_over_nursery", "measure_structure"]

Measure: TypeAlias = Literal["genet", "age", "growth", "seen"]
MEASURES: Final[tuple[Measure, ...]] = ("genet", "age", "growth", "seen")

_COLOURED: Final = Shelf("coloured", most=12)


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
        whole = read_whole(store, connection, survey)
        plan, some = whole.summary.plan, dict(islice(whole.hung.items(), first, first + limit))

        def read(names: Iterable[str]) -> dict[str, Coloured]:
            wanted = {name: some[name] for name in names}
            maps = maps_in(connection, store.nursery, survey, wanted, whole.missed_on(wanted))
            subjects = {one.subject for each in maps.values() for one in each.sightings}
            values = {} if by is None else _measure(connection, store.nursery, subjects, plan, by)
            return {name: Coloured(each, _of(each, values)) for name, each in maps.items()}

        def mend(held: dict[str, Coloured], touched: Touched) -> dict[str, Coloured]:
            anew = read(
                name for name in some if name in touched.structures or name not in held or held[name].map.hung != some[name]
            )
            return {name: anew.get(name) or held[name] for name in some}

        key = f"{survey} {by} {first} {limit} {last_day(plan)}"
        found = remembered(connection, store.nursery, _COLOURED, key, lambda: read(some), mend=mend, beside=some)
    locations: dict[str, list[Coloured]] = {}
    for each in found.values():
        locations.setdefault(each.map.hung.location or "", []).append(each)
    ordered = sorted(locations.items(), key=lambda each: natural(each[0]))
    return Nursery(plan, last_day(plan), first, len(whole.hung), dict(ordered))


def _of(found: StructureMap, values: Mapping[str, Measured]) -> dict[str, Measured]:
    return {one.subject: values[one.subject] for one in found.sightings if one.subject in values}


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
