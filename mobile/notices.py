"""What the crew has to be told loudly: a notice stays until somebody dismisses it."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal, TypeAlias

from mobile.database import Database

__all__ = ["Notice", "NoticeSort", "Notices"]

NoticeSort: TypeAlias = Literal["new_identity", "damaged_entry", "damaged_photo", "server_restored"]


@dataclass(frozen=True, slots=True)
class Notice:
    """`number` is what it is dismissed by; `sort` tells notices apart for a translation, `text` says it in English."""

    number: int
    sort: NoticeSort
    text: str
    since: datetime


class Notices:
    """The notices that nobody dismissed yet, oldest first."""

    def __init__(self, database: Database) -> None:
        self._database = database

    @property
    def all(self) -> tuple[Notice, ...]:
        """Oldest first."""
        rows = self._database.rows("SELECT place, sort, text, since FROM notice ORDER BY place")
        return tuple(Notice(place, sort, text, datetime.fromisoformat(since)) for place, sort, text, since in rows)

    def post(self, sort: NoticeSort, text: str, now: datetime) -> None:
        """Keep a notice; the same words twice are one notice."""
        with self._database.writing():
            if not self._database.rows("SELECT 1 FROM notice WHERE sort = ? AND text = ?", (sort, text)):
                self._database.run("INSERT INTO notice (sort, text, since) VALUES (?, ?, ?)", (sort, text, now.isoformat()))

    def dismiss(self, number: int) -> None:
        """Somebody read it. Dismissing what is gone changes nothing."""
        with self._database.writing():
            self._database.run("DELETE FROM notice WHERE place = ?", (number,))
