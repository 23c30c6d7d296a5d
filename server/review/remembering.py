"""What is worked out from the record once and asked for again: it holds for as long as nothing new was written or arrived.

State is a pure function of the set of entries, and the set only grows: the sum of all writers' heads tells one from the next.
"""

from collections import OrderedDict
from collections.abc import Callable
from typing import Any, Final, TypeVar
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, Engine, func, select
from sqlmodel import col

from server.store.models import WriterRow

__all__ = ["remembered"]

Made = TypeVar("Made")

_MOST: Final = 64
"""How many results are kept for a database; the one that nobody asked for longest goes first."""

_KEPT: Final[WeakKeyDictionary[Engine, OrderedDict[tuple[int, str, str], tuple[int, Any]]]] = WeakKeyDictionary()


def remembered(connection: Connection, nursery: int, what: str, survey: str, make: Callable[[], Made]) -> Made:
    """What `make` gave for this set of entries; `what` and `survey` name the question."""
    entries = int(
        connection.execute(
            select(func.coalesce(func.sum(col(WriterRow.head)), 0)).where(col(WriterRow.nursery) == nursery)
        ).scalar_one()
    )
    kept, key = _KEPT.setdefault(connection.engine, OrderedDict()), (nursery, what, survey)
    held = kept.get(key)
    if held is None or held[0] != entries:
        held = (entries, make())
        kept[key] = held
    kept.move_to_end(key)
    while len(kept) > _MOST:
        kept.popitem(last=False)
    made: Made = held[1]
    return made
