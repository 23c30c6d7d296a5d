"""What the tablet remembers of its own: where its user was, who is aboard. None of it is part of the record."""

import json
from itertools import takewhile

from pydantic import JsonValue

from mobile.database import Database
from mobile.renaming import Renaming

__all__ = ["Settings"]


class Settings:
    """Names and JSON values that outlive a restart: `page`, `touched`, `survey`, `aboard`, `visit`, ..."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def get(self, name: str, default: JsonValue = None) -> JsonValue:
        """The value that was put last, or `default`."""
        text = self._text(name)
        return default if text is None else json.loads(text)

    def names(self, beginning: str) -> tuple[str, ...]:
        """The names that are set and begin so, in text order."""
        rows = self._database.rows("SELECT name FROM setting WHERE name >= ? ORDER BY name", (beginning,))
        return tuple(row[0] for row in takewhile(lambda row: str(row[0]).startswith(beginning), rows))

    def put(self, **values: JsonValue) -> None:
        """Keep values, all in one transaction; None forgets a name. What is so already is not written again."""
        texts = {name: None if value is None else json.dumps(value, ensure_ascii=False) for name, value in values.items()}
        changed = {name: text for name, text in texts.items() if text != self._text(name)}
        if not changed:
            return
        with self._database.writing():
            for name, text in changed.items():
                if text is None:
                    self._database.run("DELETE FROM setting WHERE name = ?", (name,))
                else:
                    self._database.run(
                        "INSERT INTO setting (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
                        (name, text),
                    )

    def rename(self, renaming: Renaming) -> None:
        """Entries got other ids: every setting that names one, in its name or anywhere in its value, names the new one."""
        with self._database.writing():
            for name in self.names(""):
                value = self.get(name)
                new_name, new_value = renaming.text(name), renaming.value(value)
                if (new_name, new_value) != (name, value):
                    self.put(**{name: None})
                    self.put(**{new_name: new_value})

    def _text(self, name: str) -> str | None:
        rows = self._database.rows("SELECT value FROM setting WHERE name = ?", (name,))
        return rows[0][0] if rows else None
