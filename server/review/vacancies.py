"""Which positions are free, and who hangs at one."""

from collections.abc import Collection, Mapping

from sqlalchemy import select
from sqlmodel import col

from server.review.structures import structures_in
from server.store.engine import reading
from server.store.folding import load_standing
from server.store.models import StandingRow
from server.store.record import RecordStore
from shared_schema.designs import Design
from shared_schema.discrepancies import hanging
from shared_schema.ids import parse_address, structure_of_place

__all__ = ["designs_of", "has_position", "vacant_beside", "who_hangs_at"]


def designs_of(store: RecordStore, structures: Collection[str]) -> Mapping[str, Design]:
    """The designs of those of these structures that have one."""
    with reading(store.engine) as connection:
        hung = structures_in(connection, store.nursery, structures)
    return {name: one.design for name, one in hung.items() if one.design is not None}


def has_position(store: RecordStore, place: str) -> bool:
    """Whether an address is that of a position of a structure in the record."""
    address = parse_address(place)
    design = designs_of(store, [address.structure]).get(address.structure)
    return design is not None and any(one.path == address.path for one in design.positions)


def who_hangs_at(store: RecordStore, places: Collection[str]) -> Mapping[str, tuple[str, ...]]:
    """address -> the fragments that hang there now, for those of these addresses where any does."""
    structures = sorted({one for place in places if (one := structure_of_place(place)) is not None})
    with reading(store.engine) as connection:
        rows = connection.execute(
            select(col(StandingRow.subject), col(StandingRow.facts)).where(
                col(StandingRow.nursery) == store.nursery,
                col(StandingRow.structure).in_(structures),
                col(StandingRow.place).in_(sorted(places)),
            )
        ).all()
    found: dict[str, tuple[str, ...]] = {}
    present = [hanging(load_standing(subject, facts)) for subject, facts in rows]
    for each in sorted(present, key=lambda held: held.fragment):
        if each.here and each.place is not None:
            found[each.place] = (*found.get(each.place, ()), each.fragment)
    return found


def vacant_beside(store: RecordStore, place: str) -> tuple[str, ...]:
    """The free positions on the page of a position, in reading order; none where there is no such page."""
    if structure_of_place(place) is None:
        return ()
    address = parse_address(place)
    design = designs_of(store, [address.structure]).get(address.structure)
    page = address.path.partition(".")[0]
    pages = () if design is None else tuple(one for one in design.pages if one.path == page)
    beside = [f"{address.structure}/{position.path}" for one in pages for position in one.positions]
    taken = who_hangs_at(store, beside) if beside else {}
    return tuple(one for one in beside if one not in taken)
