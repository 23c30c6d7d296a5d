"""What a dive's pages came to: who vouched for what, what still wants a note, where records disagree."""

from collections.abc import Sequence
from dataclasses import dataclass

from mobile.chart import StructureChart
from mobile.doubts import Doubts
from mobile.overview import PageState
from mobile.page_state import page_marks
from mobile.store import Store
from mobile.voices import disputed_places
from shared_schema.designs import Page
from shared_schema.ids import parse_address
from shared_schema.unlikely import Unlikely

__all__ = ["PageSum", "Summary", "spoken_structures", "sum_up"]


@dataclass(frozen=True, slots=True)
class PageSum:
    """One page: its state, and what was said of its places. For one that was signed off: the counts that were signed.

    `by` are those who signed it off, or said that nobody reached it.
    """

    structure: str
    path: str
    kind: str
    state: PageState
    alive: int
    marked: int
    unseen: int
    by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Summary:
    """Pages in order, what is unlikely and has no note, by page, and the places where records disagree."""

    pages: tuple[PageSum, ...]
    doubts: tuple[tuple[str, tuple[Unlikely, ...]], ...]
    questions: tuple[str, ...]

    @property
    def finished(self) -> bool:
        """Whether each page was signed off or not reached."""
        return all(page.state in ("signed_off", "not_reached") for page in self.pages)


def sum_up(store: Store, survey: str, structures: Sequence[str]) -> Summary:
    """What `survey` has of these structures."""
    charts = [store.on_structure(structure) for structure in structures]
    doubts = Doubts(store.settings, survey)
    waiting = [page for page in doubts.pages if parse_address(page).structure in structures]
    return Summary(
        tuple(each for chart in charts for each in _pages(store, chart, survey)),
        tuple((page, doubts.on(page)) for page in waiting),
        tuple(place for chart in charts for place in disputed_places(chart)),
    )


def spoken_structures(store: Store, survey: str, structures: Sequence[str]) -> tuple[str, ...]:
    """Those of the structures of which a page was signed off, or not reached, in this survey."""
    rows = store.database.rows(
        "SELECT DISTINCT subject FROM entry WHERE subject >= 'page:' AND subject < 'page;' AND survey = ?", (survey,)
    )
    spoken = {parse_address(row[0].removeprefix("page:")).structure for row in rows}
    rows = store.database.rows(
        "SELECT DISTINCT subject FROM entry WHERE subject >= 'structure:' AND subject < 'structure;' AND survey = ?", (survey,)
    )
    spoken |= {row[0].removeprefix("structure:") for row in rows}
    return tuple(name for name in structures if name in spoken)


def _pages(store: Store, chart: StructureChart, survey: str) -> list[PageSum]:
    if chart.design is None:
        return []
    marks = {mark.path: mark.state for mark in page_marks(chart, survey)}
    return [_page(store, chart, page, survey, marks[page.path]) for page in chart.design.pages]


def _page(store: Store, chart: StructureChart, page: Page, survey: str, state: PageState) -> PageSum:
    address = f"{chart.structure}/{page.path}"
    said = chart.coverage(address, survey)
    signed = [one for one in said if "alive" in one]
    by = dict.fromkeys(entry.by for entry in store.logged(survey, f"page:{address}", "coverage"))
    if state == "signed_off":
        counts = (signed[-1]["alive"], signed[-1]["marked"], signed[-1]["unseen"])
    else:
        found = [hung.finding(survey) for hung in chart.on_page(address)]
        statuses = [finding.value("status") for finding in found if finding is not None]
        alive = statuses.count("alive")
        counts = (alive, sum(status is not None for status in statuses) - alive, 0)
    return PageSum(chart.structure, page.path, page.kind, state, *counts, tuple(by))
