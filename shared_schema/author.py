"""Whoever writes entries: gives each the writer's next number, and the times that its clock says."""

from collections.abc import Callable
from datetime import datetime
from typing import Any, TypeVar

from shared_schema.envelope import BaseEntry
from shared_schema.ids import EntryId

__all__ = ["Author"]

Kind = TypeVar("Kind", bound=BaseEntry)


class Author:
    """Writes entries of one writer, numbered on from `last`. Storing what was `written` is the caller's, all or nothing."""

    def __init__(self, writer: str, last: int, by: str, clock: Callable[[], datetime], typed_by: str | None = None) -> None:
        self.writer, self.last, self.by, self.typed_by = writer, last, by, typed_by
        self.written: list[BaseEntry] = []
        self._clock = clock

    def write(self, kind: type[Kind], subject: str, survey: str = "", **fields: Any) -> Kind:
        """Write one entry; `fields` are the kind's own, or envelope fields to say otherwise (by, observed, replaces, visit).

        Raises pydantic.ValidationError where they make no such entry; the number is then not used up.
        """
        now = self._clock()
        envelope: dict[str, Any] = {"by": self.by, "typed_by": self.typed_by, "observed": now, "entered": now}
        entry = kind(id=str(EntryId(self.writer, self.last + 1)), subject=subject, survey=survey, **(envelope | fields))
        self.last += 1
        self.written.append(entry)
        return entry
