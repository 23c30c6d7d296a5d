"""Every position of a survey at once: for each structure the paths of what was found in each condition."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from sqlalchemy import Connection, func, select
from sqlmodel import col

from server.review.calendar import Plan
from server.review.maps import found_by_standing
from server.review.remembering import remembered
from server.review.structures import natural
from server.review.surveys import Whole, read_whole
from server.store.engine import reading
from server.store.models import FindingRow
from server.store.record import RecordStore
from shared_schema.designs import Design

__all__ = ["UNSEEN_KEY", "Spread", "spread_out"]

UNSEEN_KEY = "unseen"

Drawn = TypeVar("Drawn")


@dataclass(frozen=True, slots=True)
class Spread:
    """A structure: condition -> paths of those in it; "unseen" for those that nobody looked at."""

    structure: str
    location: str
    design: Design | None
    found: Mapping[str, list[str]]


def spread_out(store: RecordStore, survey: str, draw: Callable[[Sequence[Spread]], Drawn]) -> tuple[Plan, Drawn]:
    """What `draw` makes of a survey's structures by location and name. Raises NothingSuch."""
    with reading(store.engine) as connection:
        whole = read_whole(store, connection, survey)

        def work_out() -> Drawn:
            return draw(_spread(connection, store.nursery, whole))

        # What hangs where by now has a say, for fragments of which a survey does not say it.
        drawn = remembered(connection, store.nursery, "positions", survey, work_out, beside=whole.hung, most=6)
    return whole.summary.plan, drawn


def _spread(connection: Connection, nursery: int, whole: Whole) -> list[Spread]:
    survey = whole.summary.plan.survey
    found: dict[str, defaultdict[str, list[str]]] = {name: defaultdict(list) for name in whole.hung}
    for structure, status, paths in _paths_by_status(connection, nursery, survey):
        if structure in found:
            found[structure][status] += paths.split(" ")
    for structure, one in found_by_standing(connection, nursery, survey, whole.hung):
        if one.status is not None:
            found[structure][one.status].append(one.path)
    for hangs in whole.missed:
        structure, _, path = hangs.place.partition("/")
        if structure in found:
            found[structure][UNSEEN_KEY].append(path)
    spreads = [Spread(name, one.location or "", one.design, found[name]) for name, one in whole.hung.items()]
    return sorted(spreads, key=lambda one: (natural(one.location), natural(one.structure)))


def _paths_by_status(connection: Connection, nursery: int, survey: str) -> Iterable[Any]:
    """(structure, status, the paths there with blanks between): the database joins them, as they are many."""
    structure, sort, status = col(FindingRow.structure), col(FindingRow.sort), col(FindingRow.status)
    path = func.substr(col(FindingRow.place), func.length(structure) + 2)
    return connection.execute(
        select(structure, status, func.aggregate_strings(path, " "))
        .where(
            col(FindingRow.nursery) == nursery,
            col(FindingRow.survey) == survey,
            structure.is_not(None),
            status.is_not(None),
            sort.in_(("fragment", "position")),
        )
        .group_by(structure, sort, status)
    )
