"""Every position of a survey at once: for each structure the paths of what was found in each condition."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from server.review.calendar import Plan
from server.review.maps import maps_in
from server.review.structures import natural, structures_in
from server.review.surveys import plan_of, structures_of
from server.store.engine import reading
from server.store.record import RecordStore
from shared_schema.designs import Design

__all__ = ["UNSEEN_KEY", "Spread", "spread_out"]

UNSEEN_KEY = "unseen"


@dataclass(frozen=True, slots=True)
class Spread:
    """A structure: condition -> paths of those in it; "unseen" for those that nobody looked at."""

    structure: str
    location: str
    design: Design | None
    found: Mapping[str, list[str]]


def spread_out(store: RecordStore, survey: str) -> tuple[Plan, list[Spread]]:
    """A survey's structures by location and name. Raises NothingSuch."""
    with reading(store.engine) as connection:
        plan = plan_of(connection, store.nursery, survey)
        hung = structures_in(connection, store.nursery)
        names = structures_of(connection, store.nursery, plan, hung)
        maps = maps_in(connection, store.nursery, survey, structures_in(connection, store.nursery, names))
    spreads = []
    for name, found in maps.items():
        paths: defaultdict[str, list[str]] = defaultdict(list)
        for one in found.sightings:
            paths[one.status or UNSEEN_KEY].append(one.path)
        spreads.append(Spread(name, found.hung.location or "", found.hung.design, paths))
    return plan, sorted(spreads, key=lambda one: (natural(one.location), natural(one.structure)))
