"""Places of which somebody said `I did not look at these`: no statuses, and so no entries, until a page is signed off."""

from collections.abc import Iterable, Iterator

from pydantic import JsonValue

from mobile.settings import Settings
from shared_schema.ids import parse_address

__all__ = ["UnseenPlaces"]


class UnseenPlaces:
    """The unseen places of one survey, page by page, as they are kept among the tablet's settings."""

    def __init__(self, settings: Settings, survey: str) -> None:
        self._settings, self._survey = settings, survey

    def on(self, page: str) -> frozenset[str]:
        """The addresses on a page that nobody looked at."""
        kept = self._settings.get(self._name(page))
        return frozenset(str(place) for place in kept) if isinstance(kept, list) else frozenset()

    def with_more(self, places: Iterable[str]) -> dict[str, JsonValue]:
        """The settings to keep when these, too, were not looked at."""
        return {self._name(page): [*sorted(self.on(page) | several)] for page, several in _by_page(places)}

    def without(self, places: Iterable[str]) -> dict[str, JsonValue]:
        """The settings to keep when somebody looked at these after all; none where nothing changes by that."""
        changed: dict[str, JsonValue] = {}
        for page, several in _by_page(places):
            known = self.on(page)
            if known & several:
                changed[self._name(page)] = [*sorted(known - several)] or None
        return changed

    def _name(self, page: str) -> str:
        return f"unseen:{self._survey}:{page}"


def _by_page(places: Iterable[str]) -> Iterator[tuple[str, set[str]]]:
    pages: dict[str, set[str]] = {}
    for place in places:
        pages.setdefault(parse_address(place).page, set()).add(place)
    yield from pages.items()
