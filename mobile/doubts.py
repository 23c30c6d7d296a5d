"""What is unlikely about a page that was signed off, until a note explains it."""

from typing import Any

from pydantic import JsonValue

from mobile.settings import Settings
from shared_schema.unlikely import Unlikely

__all__ = ["Doubts"]


class Doubts:
    """The unlikely things of one survey that have no note, page by page, as they are kept among the tablet's settings."""

    def __init__(self, settings: Settings, survey: str) -> None:
        self._settings, self._survey = settings, survey

    def on(self, page: str) -> tuple[Unlikely, ...]:
        """What about a page waits for a note."""
        return _read(self._settings.get(self._name(page)))

    @property
    def pages(self) -> tuple[str, ...]:
        """The pages that wait for a note, by address."""
        start = self._name("")
        return tuple(name.removeprefix(start) for name in self._settings.names(start))

    def keep(self, page: str, found: tuple[Unlikely, ...]) -> dict[str, JsonValue]:
        """The settings to keep when this was found on a page, or with nothing, when a note explained it."""
        return {self._name(page): [[one.sort, one.detail, one.where] for one in found] or None}

    def _name(self, page: str) -> str:
        return f"doubts:{self._survey}:{page}"


def _read(kept: JsonValue) -> tuple[Unlikely, ...]:
    several: Any = kept or ()  # as `keep` wrote it
    return tuple(Unlikely(sort, detail, where) for sort, detail, where in several)
