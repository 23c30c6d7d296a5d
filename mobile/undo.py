"""The last actions, so that they can be taken back: twenty deep, and alive after a restart."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from pydantic import JsonValue

from mobile.database import Database
from mobile.renaming import Renaming

__all__ = ["DEEPEST", "Done", "UndoLog"]

DEEPEST: Final = 20
"""How many actions can be taken back."""


@dataclass(frozen=True, slots=True)
class Done:
    """An action that can still be taken back: what it is called, where it was done, and the ids of its entries.

    `put_back` has the settings (see settings.py) that it changed, as they were before: None for one that was not set.
    """

    number: int
    label: str
    where: str
    entries: tuple[str, ...]
    put_back: Mapping[str, JsonValue]


class UndoLog:
    """The actions that can be taken back. Taking one back writes withdrawals; this log only knows of what."""

    def __init__(self, database: Database) -> None:
        self._database = database

    @property
    def all(self) -> tuple[Done, ...]:
        """Oldest first."""
        return self._read("ORDER BY place")

    @property
    def last(self) -> Done | None:
        """What would be taken back next."""
        done = self._read("ORDER BY place DESC LIMIT 1")
        return done[0] if done else None

    def push(self, label: str, where: str, entries: tuple[str, ...], put_back: Mapping[str, JsonValue] | None = None) -> None:
        """An action was done; the oldest beyond DEEPEST can no longer be taken back."""
        with self._database.writing():
            self._database.run(
                "INSERT INTO action (label, at, entries, put_back) VALUES (?, ?, ?, ?)",
                (label, where, json.dumps(entries), json.dumps(dict(put_back or {}))),
            )
            self._database.run(
                "DELETE FROM action WHERE place NOT IN (SELECT place FROM action ORDER BY place DESC LIMIT ?)",
                (DEEPEST,),
            )

    def drop(self, number: int) -> None:
        """An action was taken back."""
        self._database.run("DELETE FROM action WHERE place = ?", (number,))

    def retarget(self, names: Mapping[str, str]) -> None:
        """Other entries say now what these said: taking an action back withdraws those."""
        for done in self.all:
            entries = json.dumps([names.get(name, name) for name in done.entries])
            self._database.run("UPDATE action SET entries = ? WHERE place = ?", (entries, done.number))

    def rename(self, renaming: Renaming) -> None:
        """Entries got other ids: so did the fragments and dives that are named after them."""
        for done in self.all:
            entries = json.dumps([renaming.text(name) for name in done.entries])
            put_back = json.dumps(renaming.value(dict(done.put_back)))
            self._database.run(
                "UPDATE action SET at = ?, entries = ?, put_back = ? WHERE place = ?",
                (renaming.text(done.where), entries, put_back, done.number),
            )

    def _read(self, which: str) -> tuple[Done, ...]:
        rows = self._database.rows(f"SELECT place, label, at, entries, put_back FROM action {which}")  # noqa: S608
        return tuple(
            Done(place, label, where, tuple(json.loads(entries)), json.loads(put_back))
            for place, label, where, entries, put_back in rows
        )
