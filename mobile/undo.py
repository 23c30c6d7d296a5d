"""The last actions, so that they can be taken back: twenty deep, and alive after a restart."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from mobile.database import Database

__all__ = ["DEEPEST", "Done", "UndoLog"]

DEEPEST: Final = 20
"""How many actions can be taken back."""


@dataclass(frozen=True, slots=True)
class Done:
    """An action that can still be taken back: what it is called, and the ids of its entries."""

    number: int
    label: str
    entries: tuple[str, ...]


class UndoLog:
    """The actions that can be taken back. Taking one back writes withdrawals; this log only knows of what."""

    def __init__(self, database: Database) -> None:
        self._database = database

    @property
    def all(self) -> tuple[Done, ...]:
        """Oldest first."""
        rows = self._database.rows("SELECT place, label, entries FROM action ORDER BY place")
        return tuple(Done(place, label, tuple(json.loads(entries))) for place, label, entries in rows)

    @property
    def last(self) -> Done | None:
        """What would be taken back next."""
        done = self.all
        return done[-1] if done else None

    def push(self, label: str, entries: tuple[str, ...]) -> None:
        """An action was done; the oldest beyond DEEPEST can no longer be taken back."""
        with self._database.writing():
            self._database.run("INSERT INTO action (label, entries) VALUES (?, ?)", (label, json.dumps(entries)))
            self._database.run(
                "DELETE FROM action WHERE place NOT IN (SELECT place FROM action ORDER BY place DESC LIMIT ?)",
                (DEEPEST,),
            )

    def drop(self, number: int) -> None:
        """An action was taken back."""
        self._database.run("DELETE FROM action WHERE place = ?", (number,))

    def rename(self, names: Mapping[str, str]) -> None:
        """Entries got other ids."""
        for done in self.all:
            renamed = json.dumps([names.get(name, name) for name in done.entries])
            self._database.run("UPDATE action SET entries = ? WHERE place = ?", (renamed, done.number))
