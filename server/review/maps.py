"""What a survey found on each structure, position by position, those that nobody looked at included."""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final, NamedTuple

from sqlalchemy import ColumnElement, Connection, or_, select
from sqlmodel import col

from server.review.placing import Hangs, not_looked_at
from server.review.sighted import where_it_hung
from server.review.structures import Hung
from server.store.models import FindingRow
from shared_schema.facts import attention
from shared_schema.ids import structure_of_place

__all__ = ["Sighting", "StructureMap", "Tally", "found_by_standing", "maps_in"]


class Sighting(NamedTuple):
    """What a survey says of what hangs at an address. `status` is None where nobody looked, `open` counts its questions."""

    subject: str
    place: str
    status: str | None
    open: int = 0

    @property
    def path(self) -> str:
        """The address within the structure."""
        return self.place.partition("/")[2]


@dataclass(frozen=True, slots=True)
class Tally:
    """How many were found in which condition; `unseen` hung there and were not looked at."""

    found: Mapping[str, int]
    unseen: int
    questions: int = 0

    @property
    def seen(self) -> int:
        """How many were looked at."""
        return sum(self.found.values())

    @property
    def total(self) -> int:
        """How many there were to look at."""
        return self.seen + self.unseen


@dataclass(frozen=True, slots=True)
class StructureMap:
    """A structure and what a survey says of its positions, in the order in which they were found."""

    hung: Hung
    sightings: list[Sighting] = field(default_factory=list)

    @property
    def at(self) -> dict[str, Sighting]:
        """path -> what is shown there: where two are said to hang in one place, the one that calls for more attention."""
        shown: dict[str, Sighting] = {}
        for one in self.sightings:
            held = shown.get(one.path)
            if held is None or _urgency(one) > _urgency(held):
                shown[one.path] = one
        return shown

    @property
    def crowded(self) -> dict[str, int]:
        """path -> how many are said to hang there, where that is more than one."""
        return {path: many for path, many in Counter(one.path for one in self.sightings).items() if many > 1}

    @property
    def tally(self) -> Tally:
        """The counts of this structure."""
        found = Counter(one.status for one in self.sightings if one.status is not None)
        unseen = sum(1 for one in self.sightings if one.status is None)
        return Tally(found, unseen, sum(one.open for one in self.sightings))

    @property
    def off_the_map(self) -> list[Sighting]:
        """What is said to hang where the structure has no position."""
        design = self.hung.design
        paths = frozenset(each.path for each in design.positions) if design is not None else frozenset()
        return [one for one in self.sightings if one.path not in paths]


def _urgency(one: Sighting) -> tuple[int, tuple[float, str]]:
    return (one.open, (-1.0, "")) if one.status is None else (one.open, attention("status", one.status))


def maps_in(
    connection: Connection,
    nursery: int,
    survey: str,
    structures: Mapping[str, Hung],
    missed: Iterable[Hangs] | None = None,
) -> dict[str, StructureMap]:
    """The maps of these structures in a survey, by name, in the order given.

    `missed` is what `not_looked_at` gave for these structures or more, where the caller knows it already.
    """
    maps = {name: StructureMap(hung) for name, hung in structures.items()}
    open_unseen: dict[str, int] = {}
    for structure, one in _found(connection, nursery, survey, maps):
        if one.status is None:
            open_unseen[one.subject] = one.open
        elif structure in maps:
            maps[structure].sightings.append(one)
    for hangs in not_looked_at(connection, nursery, survey, maps) if missed is None else missed:
        held = maps.get(structure_of_place(hangs.place) or "")
        if held is not None:
            held.sightings.append(Sighting(hangs.subject, hangs.place, None, open_unseen.get(hangs.subject, 0)))
    return maps


def _found(connection: Connection, nursery: int, survey: str, structures: Collection[str]) -> Iterator[tuple[str, Sighting]]:
    """Structure and sighting, one after the other.

    Where a fragment was hung in this survey counts before where it was seen: a map shows how the survey left it.
    """
    said = connection.execute(
        select(col(FindingRow.structure), *_COLUMNS, col(FindingRow.place)).where(
            *_worth(nursery, survey),
            col(FindingRow.sort).in_(("fragment", "position")),
            col(FindingRow.structure).in_(sorted(structures)),
        )
    )
    for structure, subject, status, questions, where in said:
        yield structure or "", Sighting(subject, where or subject.partition(":")[2], status, questions)
    yield from found_by_standing(connection, nursery, survey, structures)


def found_by_standing(
    connection: Connection, nursery: int, survey: str, structures: Collection[str]
) -> Iterator[tuple[str, Sighting]]:
    """Structure and sighting of fragments of which the survey does not say where they are: they are where they hung."""
    there = where_it_hung(nursery, survey)
    known = connection.execute(select(there).where(or_(there.c.status.is_not(None), there.c.open > 0)))
    for structure, where, subject, status, questions in known:
        if structure in structures:
            yield structure, Sighting(subject, where, status, questions)


def _worth(nursery: int, survey: str) -> tuple[ColumnElement[bool], ...]:
    """Findings that a map shows: a condition, or a question."""
    shown = or_(col(FindingRow.status).is_not(None), col(FindingRow.open) > 0)
    return col(FindingRow.nursery) == nursery, col(FindingRow.survey) == survey, shown


_COLUMNS: Final = (col(FindingRow.subject), col(FindingRow.status), col(FindingRow.open))
