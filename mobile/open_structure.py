"""The structure that a tablet has open: its chart, kept true to the disk at the cost of what changed."""

from collections.abc import Collection, Iterable
from itertools import chain
from typing import Final

from mobile.chart import Hung, StructureChart, redraw
from mobile.dive_view import PlaceViews
from mobile.overview import PageMark
from mobile.page_state import page_mark
from mobile.store import Store
from shared_schema.designs import Design, Page
from shared_schema.entries import BaseEntry
from shared_schema.errors import NothingSuch
from shared_schema.ids import split_subject

__all__ = ["OpenStructure"]

_FINISHED: Final = frozenset({"signed_off", "not_reached"})
_WHOLE: Final = ""  # stands among paths of pages for all of them
_ALL: Final = frozenset({_WHOLE})


class OpenStructure:
    """One structure in one survey. Raises NothingSuch for one without a design, and keeps the one before.

    `marks` are its pages and how far each is; `statuses` (path, status) of all that the survey speaks of; `views` are what
    it shows of its positions.
    """

    chart: StructureChart
    design: Design
    marks: tuple[PageMark, ...]
    statuses: tuple[tuple[str, str], ...]

    def __init__(self, store: Store, survey: str, structure: str) -> None:
        self._store, self._survey = store, survey
        self.views = PlaceViews(survey)
        self._by_page: dict[str, tuple[PageMark, tuple[tuple[str, str], ...]]] = {}
        self.read(structure)

    @property
    def name(self) -> str:
        """Which one."""
        return self.chart.structure

    @property
    def finished(self) -> bool:
        """Whether each page was signed off or not reached."""
        return all(mark.state in _FINISHED for mark in self.marks)

    def read(self, structure: str) -> None:
        """Read it, or another one, from the disk."""
        others = self._store.database.others
        self.views.forget()
        self._show(self._store.on_structure(structure))
        self._others = others

    def read_again(self) -> bool:
        """Take in what somebody else wrote meanwhile, as a sync does; whether there was anything."""
        changed = self._store.database.others != self._others
        if changed:
            self.read(self.name)
        return changed

    def take(self, entries: Iterable[BaseEntry]) -> None:
        """Take in entries that were just written."""
        own = (f"page:{self.name}/", f"position:{self.name}/", "fragment:")
        subjects = {entry.subject for entry in entries}
        changed = {
            name: self._store.findings_of(name) for name in subjects if name.startswith(own) or name == f"structure:{self.name}"
        }
        before = self.chart
        after = redraw(before, changed)
        self._show(after, _pages_of(changed, before) | _pages_of(changed, after))

    def next_page(self, here: str = "") -> str:
        """The path of the next page that nobody finished, after `here` and then from the start; empty where there is none."""
        order = [mark.path for mark in self.marks]
        start = order.index(here) + 1 if here else 0
        after = self.marks[start:] + self.marks[: max(0, start - 1)]
        return next((mark.path for mark in after if mark.state not in _FINISHED), "")

    def state(self, page: str) -> str:
        """How far a page is."""
        return next(mark.state for mark in self.marks if mark.path == page)

    def address(self, path: str) -> str:
        """`3.2.4` -> `T07/3.2.4`."""
        return f"{self.name}/{path}"

    def path(self, where: str) -> str:
        """`T07/3.2.4` -> `3.2.4`; anything elsewhere as it is."""
        return where.removeprefix(f"{self.name}/")

    def hanging(self, path: str) -> tuple[Hung, ...]:
        """What hangs at a position now."""
        return tuple(hung for hung in self.chart.at(self.address(path)) if hung.here)

    def meant(self, path: str) -> tuple[str, ...]:
        """The fragments that a word about a position may mean: those that hang there, or else those lost from there."""
        names = tuple(hung.fragment for hung in self.hanging(path))
        return names or tuple(hung.fragment for hung in self.chart.at(self.address(path)))

    def off_board(self, page: Page) -> frozenset[str]:
        """What hangs on a page by the record, and has no place there by the design: it cannot be shown, nor vouched for."""
        known = {self.address(position.path) for position in page.positions}
        return frozenset(hung.place or "" for hung in self.chart.on_page(self.address(page.path)) if hung.place not in known)

    def _show(self, chart: StructureChart, pages: frozenset[str] = _ALL) -> None:
        """Show a chart; only on `pages` is anything else than before."""
        if chart.design is None:
            raise NothingSuch(f"structure {chart.structure} has no design here: have the office enter it, and load again")
        self.chart, self.design = chart, chart.design
        for page in chart.design.pages:
            if page.path in pages or _WHOLE in pages:
                self._by_page[page.path] = (page_mark(chart, page, self._survey), self.views.known_statuses(chart, page))
        found = [self._by_page[page.path] for page in chart.design.pages]
        self.marks = tuple(mark for mark, _ in found)
        self.statuses = tuple(chain.from_iterable(statuses for _, statuses in found))


def _pages_of(subjects: Collection[str], chart: StructureChart) -> frozenset[str]:
    """The pages that subjects have to do with: paths, and _WHOLE for the structure itself."""
    names = {name for sort, name in map(split_subject, subjects) if sort == "fragment"}
    pages = {_page(subject) for subject in subjects if not subject.startswith("fragment:")}
    for place, several in chart.by_place.items() if names else ():
        if any(hung.fragment in names for hung in several):
            pages.add(_page(place))
    return frozenset(pages)


def _page(where: str) -> str:
    return where.partition("/")[2].partition(".")[0]
