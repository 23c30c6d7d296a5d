"""Every position of a survey at once: for each structure the paths of what was found in each condition."""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, TypeVar

from sqlalchemy import Connection, func, select
from sqlmodel import col

from server.review.calendar import Plan
from server.review.maps import found_by_standing
from server.review.remembering import Shelf, remembered
from server.review.structures import Hung, natural
from server.review.touched import Touched
from server.review.wholes import Whole, read_whole
from server.store.bulk import in_chunks
from server.store.engine import reading
from server.store.models import FindingRow
from server.store.record import RecordStore
from shared_schema.designs import Design

__all__ = ["UNSEEN_KEY", "Spread", "spread_out"]

UNSEEN_KEY: Final = "unseen"

_SPREAD: Final = Shelf("spread", most=32)
_DRAWN: Final = Shelf("positions", most=32)

Drawn = TypeVar("Drawn")


@dataclass(frozen=True, slots=True)
class Spread:
    """A structure: condition -> paths of those in it, blanks between; "unseen" for those that nobody looked at."""

    structure: str
    location: str
    design: Design | None
    found: Mapping[str, str]

    def drawn_as(self, hung: Hung) -> bool:
        """Whether a structure still hangs as it did."""
        return self.design == hung.design and self.location == (hung.location or "")


def spread_out(store: RecordStore, survey: str, draw: Callable[[Sequence[Spread], Drawn | None], Drawn]) -> tuple[Plan, Drawn]:
    """What `draw` makes of a survey's structures by location and name. Raises NothingSuch.

    Beside these it gets what it drew when fewer entries were here, for what it can take from there: the same objects
    where nothing changed.
    """
    with reading(store.engine) as connection:
        whole = read_whole(store, connection, survey)
        spreads = _spreads(connection, store.nursery, whole)
        drawn = remembered(
            connection,
            store.nursery,
            _DRAWN,
            survey,
            lambda: draw(spreads, None),
            mend=lambda held, _: draw(spreads, held),
            until="",
            beside=spreads,
        )
    return whole.summary.plan, drawn


def _spreads(connection: Connection, nursery: int, whole: Whole) -> list[Spread]:
    def mend(held: dict[str, Spread], touched: Touched) -> dict[str, Spread]:
        anew = {
            name: hung
            for name, hung in whole.hung.items()
            if name in touched.structures or name not in held or not held[name].drawn_as(hung)
        }
        found = _spread(connection, nursery, whole, anew)
        return {name: found.get(name) or held[name] for name in whole.hung}

    # What hangs where by now has a say, for fragments of which a survey does not say it.
    survey = whole.summary.plan.survey
    found = remembered(
        connection, nursery, _SPREAD, survey, lambda: _spread(connection, nursery, whole), mend=mend, beside=whole.hung
    )
    order = {location: natural(location) for location in {one.location for one in found.values()}}
    return sorted(found.values(), key=lambda one: order[one.location])


def _spread(connection: Connection, nursery: int, whole: Whole, some: Mapping[str, Hung] | None = None) -> dict[str, Spread]:
    """The structures of a survey, or some of them, in reading order."""
    survey, wanted = whole.summary.plan.survey, whole.hung if some is None else some
    found: dict[str, defaultdict[str, list[str]]] = {name: defaultdict(list) for name in wanted}
    for structure, status, paths in _paths_by_status(connection, nursery, survey, some):
        if structure in found:
            found[structure][status].append(paths)
    for structure, one in found_by_standing(connection, nursery, survey, wanted):
        if one.status is not None:
            found[structure][one.status].append(one.path)
    for hangs in whole.missed_on(wanted):
        structure, _, path = hangs.place.partition("/")
        found[structure][UNSEEN_KEY].append(path)
    joined = {name: {status: " ".join(paths) for status, paths in several.items()} for name, several in found.items()}
    return {name: Spread(name, hung.location or "", hung.design, joined[name]) for name, hung in wanted.items()}


def _paths_by_status(connection: Connection, nursery: int, survey: str, some: Collection[str] | None) -> Iterator[Any]:
    """(structure, status, the paths there with blanks between) everywhere or on some: the database joins them, so many are they."""
    structure, sort, status = col(FindingRow.structure), col(FindingRow.sort), col(FindingRow.status)
    path = func.substr(col(FindingRow.place), func.length(structure) + 2)
    for there in [structure.is_not(None)] if some is None else [structure.in_(few) for few in in_chunks(sorted(some))]:
        yield from connection.execute(
            select(structure, status, func.aggregate_strings(path, " "))
            .where(
                col(FindingRow.nursery) == nursery,
                col(FindingRow.survey) == survey,
                there,
                status.is_not(None),
                sort.in_(("fragment", "position")),
            )
            .group_by(structure, sort, status)
        )
