"""What the tablet remembers of its own: where its user was, who is aboard. None of it is part of the record."""

import json
from itertools import takewhile

from pydantic import JsonValue

from mobile.database import Database

__all__ = ["Settings"]


class Settings:
    """Names and JSON values that outlive a restart: `page`, `touched`, `survey`, `aboard`, `visit`, ..."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def get(self, name: str, default: JsonValue = None) -> JsonValue:
        """The value that was put last, or `default`."""
        rows = self._database.rows("SELECT value FROM setting WHERE name = ?", (name,))
        return json.loads(rows[0][0]) if rows else default

    def names(self, beginning: str) -> tuple[str, ...]:
        """The names that are set and begin so, in text order."""
        rows = self._database.rows("SELECT name FROM setting WHERE name >= ? ORDER BY name", (beginning,))
        return tuple(row[0] for row in takewhile(lambda row: str(row[0]).startswith(beginning), rows))

    def put(self, **values: JsonValue) -> None:
        """Keep values, all in one transaction; None forgets a name."""
        with self._database.writing():
            for name, value in values.items():
                if value is None:
                    self._database.run("DELETE FROM setting WHERE name = ?", (name,))
                else:
                    self._database.run(
                        "INSERT INTO setting (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
                        (name, json.dumps(value, ensure_ascii=False)),
                    )
