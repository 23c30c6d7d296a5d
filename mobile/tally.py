"""Per dive: how many entries were saved here, and how many of them the server has acknowledged."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from mobile.store import Store

__all__ = ["VisitTally", "tally_visits"]


@dataclass(frozen=True, slots=True)
class VisitTally:
    """`visit` is the dive's id, empty for what belongs to none; `place` and `went_in` where the dive's own entry says so."""

    visit: str
    place: str
    went_in: datetime | None
    saved: int
    sent: int


def tally_visits(store: Store) -> tuple[VisitTally, ...]:
    """The dives that this tablet wrote entries of, the latest first; what belongs to none comes last."""
    current = store.identities.current
    if current is None:
        return ()
    saved: dict[str, int] = {}
    sent: dict[str, int] = {}
    for one in [*(other for other in store.identities.all if other.fork), current]:
        for number, visit in _visits(store, one.writer):
            saved[visit] = saved.pop(visit, 0) + 1  # the one written last comes last
            sent[visit] = sent.get(visit, 0) + (number <= one.acknowledged)
    order = [*(visit for visit in reversed(saved) if visit), *(visit for visit in saved if not visit)]
    return tuple(VisitTally(visit, *_about(store, visit), saved[visit], sent[visit]) for visit in order)


def _visits(store: Store, writer: str) -> Iterator[tuple[int, str]]:
    for number, raw in store.database.each("SELECT number, raw FROM entry WHERE writer = ? ORDER BY number", (writer,)):
        yield number, _visit_of(raw)


def _visit_of(raw: bytes) -> str:
    try:
        said: Any = json.loads(raw)
    except ValueError:
        return ""  # damaged on the disk: it is counted, and sent wrapped
    subject = str(said.get("subject", ""))
    return subject.removeprefix("visit:") if subject.startswith("visit:") else str(said.get("visit") or "")


def _about(store: Store, visit: str) -> tuple[str, datetime | None]:
    dive: Any = store.standing(f"visit:{visit}").value("dive") if visit else None
    if not isinstance(dive, dict):
        return "", None
    went_in = dive.get("went_in")
    return str(dive.get("place") or ""), datetime.fromisoformat(went_in) if isinstance(went_in, str) else None
