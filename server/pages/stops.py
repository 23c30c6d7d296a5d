"""The stops of the slider through surveys: the same page, one survey after the other."""

from collections.abc import Callable
from dataclasses import dataclass

from server.review.calendar import plans_in
from server.store.engine import reading
from server.store.record import RecordStore

__all__ = ["Stop", "stops_through"]


@dataclass(frozen=True, slots=True)
class Stop:
    """A survey, and the address of this page in it."""

    survey: str
    address: str


def stops_through(store: RecordStore, address_in: Callable[[str], str], by: str | None = None) -> list[Stop]:
    """The page of `address_in` in every survey, oldest first."""
    with reading(store.engine) as connection:
        surveys = sorted(plans_in(connection, store.nursery))
    query = "" if by is None else f"?by={by}"
    return [Stop(survey, address_in(survey) + query) for survey in surveys]
