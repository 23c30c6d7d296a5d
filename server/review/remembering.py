"""What is worked out from the record once and asked for again: it holds until something is written that could change it.

State is a pure function of the set of entries, and the set only grows: the heads of all writers tell one from the next.
What a survey left behind depends on the entries of that survey and of those before it alone, so that what arrives for a
later one leaves it standing. Where just a part of something hangs on what came, that part alone is worked out again.
Each process remembers for itself, and nothing is remembered that the database does not say.
"""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Any, Final, NamedTuple, TypeAlias, TypeVar, cast
from weakref import WeakKeyDictionary

from sqlalchemy import ColumnElement, Connection, Engine, and_, func, or_, select
from sqlmodel import col

from server.review.touched import Touched, touched_between
from server.store.models import EntryRow, WriterRow
from shared_schema.ids import Heads

__all__ = ["Shelf", "remembered"]

Made = TypeVar("Made")

_TIMES: Final = 8
_FOUND: Final = ("fragment", "page", "position", "structure")
"""What surveys find something of. Facts of people, genets and plans that belong to no survey change no finding."""


class Shelf(NamedTuple):
    """Where answers to one kind of question are kept: the `most` that were asked for last."""

    what: str
    most: int = 64


class _Held(NamedTuple):
    heads: Heads
    beside: Any
    made: Any


_Kept: TypeAlias = OrderedDict[tuple[int, str], _Held]
_KEPT: Final[WeakKeyDictionary[Engine, dict[str, _Kept]]] = WeakKeyDictionary()
_SPOKEN: Final[WeakKeyDictionary[Engine, OrderedDict[Hashable, Touched | None]]] = WeakKeyDictionary()
_DOOR: Final = Lock()


def remembered(
    connection: Connection,
    nursery: int,
    shelf: Shelf,
    key: str,
    make: Callable[[], Made],
    *,
    mend: Callable[[Made, Touched], Made] | None = None,
    until: str | None = None,
    beside: Any = None,
) -> Made:
    """What `make` gave for this set of entries; `shelf` and `key` name the question.

    `until`: entries of later surveys do not matter; None: every entry does. `beside` is what it hangs on besides entries
    of these surveys, as plans and structures that are known by now: it must be equal.

    `mend` makes of what was made, which it leaves as it is, what `make` would give now: from what new entries speak of,
    and from what else changed of `beside`. Without it, or after very many new entries, `make` is asked.
    """
    heads = _heads(connection, nursery)
    name = (nursery, key)
    with _DOOR:
        kept = _KEPT.setdefault(connection.engine, {}).setdefault(shelf.what, OrderedDict())
        held = kept.get(name)
    if held is None:
        held = _Held(heads, beside, make())
    elif held.beside != beside or not _unmoved(connection, nursery, held.heads, heads, until):
        touched = None if mend is None else _touched(connection, nursery, held.heads, heads)
        held = _Held(heads, beside, make() if mend is None or touched is None else mend(held.made, touched))
    with _DOOR:
        # With the heads of now, what came meanwhile for later surveys is not looked through again.
        kept[name] = held._replace(heads=heads)
        kept.move_to_end(name)
        while len(kept) > shelf.most:
            kept.popitem(last=False)
    return cast("Made", held.made)


def _touched(connection: Connection, nursery: int, before: Heads, now: Heads) -> Touched | None:
    """One page asks for several things that were worked out at one time: the answer for the last few times is kept."""
    name = (nursery, frozenset(before.items()), frozenset(now.items()))
    with _DOOR:
        kept = _SPOKEN.setdefault(connection.engine, OrderedDict())
        if name in kept:
            return kept[name]
    found = touched_between(connection, nursery, before, now)
    with _DOOR:
        kept[name] = found
        while len(kept) > _TIMES:
            kept.popitem(last=False)
    return found


def _heads(connection: Connection, nursery: int) -> Heads:
    rows = connection.execute(select(col(WriterRow.writer), col(WriterRow.head)).where(col(WriterRow.nursery) == nursery))
    return {writer: head for writer, head in rows if head > 0}


def _unmoved(connection: Connection, nursery: int, before: Heads, now: Heads, until: str | None) -> bool:
    """Whether nothing came in between that matters."""
    grown = [(writer, before.get(writer, 0), head) for writer, head in now.items() if head != before.get(writer, 0)]
    if until is None or not grown:
        return not grown
    for writer, after, head in grown:
        first: str | None = connection.execute(
            select(func.min(col(EntryRow.survey))).where(
                col(EntryRow.nursery) == nursery,
                col(EntryRow.writer) == writer,
                col(EntryRow.number) > min(after, head),
                col(EntryRow.number) <= max(after, head),
                or_(col(EntryRow.survey) != "", *(_of_sort(sort) for sort in _FOUND)),
            )
        ).scalar_one()
        if first is not None and first <= until:
            return False
    return True


def _of_sort(sort: str) -> ColumnElement[bool]:
    """PostgreSQL takes no order of letters within a BETWEEN, and these columns have one."""
    return and_(col(EntryRow.subject) >= f"{sort}:", col(EntryRow.subject) < f"{sort};")
