"""The repairs of a case, by the sort of what does not add up."""

from collections.abc import Callable, Iterator, Mapping
from typing import Final

from server.review.cases import Case
from server.review.repairs.descent import own_ancestor, unknown_genet, unknown_parent
from server.review.repairs.life import dead_then_alive, tag_twice
from server.review.repairs.places import never_planted, one_in_two_places, two_in_one_place, unknown_position
from server.review.repairs.repair import Repair
from server.store.record import RecordStore
from shared_schema.discrepancies import Sort
from shared_schema.errors import NothingSuch

__all__ = ["repair_named", "repairs_of"]

_REPAIRS: Final[Mapping[Sort, Callable[[RecordStore, Case], Iterator[Repair]]]] = {
    "two_in_one_place": two_in_one_place,
    "one_in_two_places": one_in_two_places,
    "dead_then_alive": dead_then_alive,
    "unknown_genet": unknown_genet,
    "unknown_parent": unknown_parent,
    "own_ancestor": own_ancestor,
    "unknown_position": unknown_position,
    "never_planted": never_planted,
    "tag_twice": tag_twice,
}


def repairs_of(store: RecordStore, case: Case) -> tuple[Repair, ...]:
    """The ways to put a case right, in the order in which to offer them; none where it adds up."""
    return tuple(_REPAIRS[case.discrepancy.sort](store, case)) if case.stands else ()


def repair_named(store: RecordStore, case: Case, key: str) -> Repair:
    """One of them. Raises NothingSuch where it is offered no more."""
    for one in repairs_of(store, case):
        if one.key == key:
            return one
    raise NothingSuch("This is not offered any more: look at the choices again.")
