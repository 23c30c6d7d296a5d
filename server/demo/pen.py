"""Writes the lines of one writer: what a tablet would have sent, or the office kept."""

import json
from datetime import datetime, timedelta
from typing import Any, Final

from shared_schema.entries import KINDS
from shared_schema.envelope import VERSION, BaseEntry
from shared_schema.ids import EntryId

__all__ = ["ZONE", "Pen"]

ZONE: Final = "-04:00"

_KIND_OF: Final[dict[type[BaseEntry], str]] = {kind: name for name, kind in KINDS.items()}
_encode = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode


class Pen:
    """Lines of one writer, numbered 1, 2, 3 ... They are not checked here: whoever receives them does that anyway."""

    def __init__(self, writer: str) -> None:
        self.writer = writer
        self.number = 0
        self.lines: list[bytes] = []
        self._now = self._typed = ""

    def at(self, day: str, minute: int) -> None:
        """What is written from now on was seen `minute` minutes into that day, and typed an hour later."""
        moment = datetime.fromisoformat(f"{day}T00:00:00{ZONE}") + timedelta(minutes=minute)
        self._now, self._typed = moment.isoformat(), (moment + timedelta(hours=1)).isoformat()

    def write(self, kind: type[BaseEntry], subject: str, survey: str, by: str, **fields: Any) -> str:
        """Write one entry; gives its id. What is None or an empty list is left out."""
        self.number += 1
        name = str(EntryId(self.writer, self.number))
        body: dict[str, Any] = {"id": name, "kind": _KIND_OF[kind], "v": VERSION}
        if survey:
            body["survey"] = survey
        body |= {"subject": subject, "by": by, "observed": self._now, "entered": self._typed}
        body |= {field: value for field, value in fields.items() if value is not None and value != []}
        self.lines.append(_encode(body).encode())
        return name
