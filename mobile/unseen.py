"""Places of which somebody said `I did not look at these`: no statuses, and so no entries, until a page is signed off."""

from collections.abc import Iterable, Iterator, Sequence

from pydantic import JsonValue

from mobile.page_state import page_mark
from mobile.settings import Settings
from mobile.store import Store
from shared_schema.entries import BaseEntry, EntryWithdrawn, PageSignedOff
from shared_schema.ids import parse_address

__all__ = ["UnseenPlaces", "own_words"]


class UnseenPlaces:
    """The unseen places of one survey, page by page, as they are kept among the tablet's settings."""

    def __init__(self, settings: Settings, survey: str) -> None:
        self._settings, self._survey = settings, survey

    def on(self, page: str) -> frozenset[str]:
        """The addresses on a page that nobody looked at."""
        kept = self._settings.get(self._name(page))
        return frozenset(str(place) for place in kept) if isinstance(kept, list) else frozenset()

    @property
    def pages(self) -> frozenset[str]:
        """The addresses of the pages with such places."""
        start = self._name("")
        return frozenset(name.removeprefix(start) for name in self._settings.names(start))

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


def own_words(store: Store, survey: str, by: str, places: Sequence[str]) -> list[BaseEntry]:
    """What somebody has to take back who did not look at some positions after all: signatures in force, then statuses.

    In this order, so that taking that back says the oldest status first, and signs last, under all that was said.
    """
    pages = dict.fromkeys(parse_address(place).page for place in places)
    signatures = [entry for page in pages for entry in _signatures(store, survey, by, page)]
    return [*signatures, *(entry for place in places for entry in _statuses(store, survey, by, place))]


def _signatures(store: Store, survey: str, by: str, page: str) -> Iterator[BaseEntry]:
    structure, path = parse_address(page)
    chart = store.on_structure(structure)
    if chart.design is not None and page_mark(chart, chart.design.page(path), survey).state == "signed_off":
        for entry in store.logged(survey, f"page:{page}", "coverage"):
            if isinstance(entry, PageSignedOff) and entry.by == by:
                yield entry


def _statuses(store: Store, survey: str, by: str, place: str) -> Iterator[BaseEntry]:
    for subject in (f"position:{place}", *(f"fragment:{hung.fragment}" for hung in store.at(place))):
        entries = store.entries_of(survey, subject)
        withdrawn = {entry.target for entry in entries if isinstance(entry, EntryWithdrawn)}
        for entry in reversed(entries):
            if entry.by == by and entry.id not in withdrawn and "status" in dict(entry.facts()):
                yield entry
