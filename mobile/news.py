"""What others entered and the office ruled since the crew last looked, on the structures that were loaded."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

from pydantic import JsonValue

from mobile.packs import Packs
from mobile.row import read_line
from mobile.store import Store
from shared_schema.entries import BaseEntry, ConditionSeen, DiveLogged
from shared_schema.ids import is_office, parse_address, split_subject, structure_of_place

__all__ = ["Change", "News"]

_MOST: Final = 200


@dataclass(frozen=True, slots=True)
class Change:
    """An entry that came: on which structure, at which place or page, of which fragment (empty where of none), and itself."""

    structure: str
    where: str
    fragment: str
    entry: BaseEntry

    @property
    def from_office(self) -> bool:
        """Whether the office wrote it."""
        return is_office(self.entry.writer)


class News:
    """What came since `seen` was said last. It outlives a restart."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def begin(self) -> None:
        """What is here before anything else comes is no news; once begun, this changes nothing."""
        if self._store.settings.get("news_since") is None and Packs(self._store).all:
            self.seen()

    def seen(self) -> None:
        """The crew has seen what came up to now."""
        heads: dict[str, JsonValue] = dict(self._store.heads())
        self._store.settings.put(news_since=heads)

    @property
    def all(self) -> tuple[Change, ...]:
        """The latest first, at most 200. Rows that came by signing a page off are told by the page's own."""
        loaded = Packs(self._store).structures
        found: list[Change] = []
        for entry in self._entries():
            if isinstance(entry, DiveLogged) or (isinstance(entry, ConditionSeen) and entry.basis == "signed_off"):
                continue
            change = self._change(entry)
            if change is not None and change.structure in loaded:
                found.append(change)
        found.sort(key=lambda change: (change.entry.entered, change.entry.id), reverse=True)
        return tuple(found[:_MOST])

    def _entries(self) -> Iterator[BaseEntry]:
        since: Any = self._store.settings.get("news_since")
        if not isinstance(since, dict):
            return
        own = {identity.writer for identity in self._store.identities.all}
        for writer, head in sorted(self._store.heads().items()):
            after = since.get(writer, 0)
            if writer in own or head <= after:
                continue
            for (raw,) in self._store.database.each(
                "SELECT raw FROM entry WHERE writer = ? AND number > ? ORDER BY number", (writer, after)
            ):
                entry = read_line(raw)
                if entry is not None:
                    yield entry

    def _change(self, entry: BaseEntry) -> Change | None:
        sort, name = split_subject(entry.subject)
        if sort == "fragment":
            place = self._store.fragment(name).place or ""
            return Change(structure_of_place(place) or "", place, name, entry)
        if sort == "structure":
            return Change(name, name, "", entry)
        if sort in ("page", "position"):
            return Change(parse_address(name).structure, name, "", entry)
        return None
