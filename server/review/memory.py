"""What took long to read is kept until anything new arrives. State is a function of the set of entries, and heads name the set."""

from collections.abc import Callable
from threading import Lock
from typing import Any, Final, TypeVar
from weakref import WeakKeyDictionary

from sqlalchemy import Connection

from server.store.record import RecordStore
from shared_schema.ids import Heads

__all__ = ["remember"]

T = TypeVar("T")

MOST: Final = 8


class _Shelf:
    """What is kept of one record: key -> (heads that it was read under, value), the latest used last."""

    def __init__(self) -> None:
        self.lock = Lock()
        self.kept: dict[object, tuple[Heads, Any]] = {}


_SHELVES: Final[WeakKeyDictionary[RecordStore, _Shelf]] = WeakKeyDictionary()
_DOOR: Final = Lock()


def remember(store: RecordStore, connection: Connection, key: object, read: Callable[[], T]) -> T:
    """What `read` gives, which must depend on nothing but the record as this transaction sees it.

    Whoever asks for the same at the same time waits, so that it is read once. Each process keeps its own.
    """
    with _DOOR:
        shelf = _SHELVES.setdefault(store, _Shelf())
    heads = store.heads_in(connection)
    with shelf.lock:
        kept = shelf.kept.pop(key, None)
        value: T = read() if kept is None or kept[0] != heads else kept[1]
        shelf.kept[key] = (heads, value)
        while len(shelf.kept) > MOST:
            del shelf.kept[next(iter(shelf.kept))]
    return value
