"""What waits on a structure: corals to look at again, open questions, pages that nobody reached, ties, tags, cleaning.

All of it is worked out from the record, so that it is done when somebody has entered it, and not when somebody ticks it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from statistics import median
from typing import Final, Literal, TypeAlias

from mobile.chart import Hung, StructureChart
from mobile.store import Store
from shared_schema.entries import UpkeepDone
from shared_schema.fold import Finding
from shared_schema.ids import parse_address, split_subject

__all__ = ["SORTS", "USUAL_DAYS", "StructureTasks", "Task", "TaskSort", "tasks_of"]

TaskSort: TypeAlias = Literal["look_again", "question", "not_reached", "tie", "tag", "overgrown", "cleaning"]

SORTS: Final[tuple[TaskSort, ...]] = ("look_again", "question", "not_reached", "tie", "tag", "overgrown", "cleaning")
"""In the order in which they are listed."""

USUAL_DAYS: Final = 30
"""Cleaning weekly to monthly is common practice; a structure whose record has three cleanings goes by its own median."""

_LOOK_AGAIN: Final = ("sick", "preyed_on", "bleached", "lost", "fading")


@dataclass(frozen=True, slots=True)
class Task:
    """One thing to do. `where` is a place, a page or the structure; `fragment` empty where it is about none.

    `said` is what calls for it: a status, a fact in dispute, the state of a tie or tag, a reason; `survey` is the one that
    said so. `days` is since when, for cleaning.
    """

    sort: TaskSort
    structure: str
    where: str
    fragment: str = ""
    said: str = ""
    survey: str = ""
    days: int = 0

    @property
    def page(self) -> str:
        """The path of the page that it is on, empty where that is the structure as a whole."""
        return parse_address(self.where).path.partition(".")[0] if "/" in self.where else ""


@dataclass(frozen=True, slots=True)
class StructureTasks:
    """What waits on a structure, by sort and then in reading order."""

    structure: str
    tasks: tuple[Task, ...]

    def count(self, sort: TaskSort) -> int:
        """How many of a sort."""
        return sum(task.sort == sort for task in self.tasks)


def tasks_of(store: Store, structure: str, survey: str, today: date) -> StructureTasks:
    """What waits on a structure in `survey`, as of `today`."""
    chart = store.on_structure(structure)
    found = [*_of_fragments(chart, survey), *_of_pages(chart, survey), *_cleaning(store, chart, today)]
    return StructureTasks(structure, tuple(sorted(found, key=lambda task: SORTS.index(task.sort))))


def _of_fragments(chart: StructureChart, survey: str) -> Iterator[Task]:
    for hung in chart.hung:
        place = hung.place or chart.structure
        found = hung.finding(survey)
        before = hung.before(survey)
        looked = found is not None and found.value("status") is not None
        if before is not None and before.value in _LOOK_AGAIN and not looked:
            yield Task("look_again", chart.structure, place, hung.fragment, str(before.value), before.survey)
        for fact, held in hung.standing.facts.items():
            if held.open:
                yield Task("question", chart.structure, place, hung.fragment, fact, held.survey)
        if hung.here:
            yield from _upkeep_of(chart, hung, place, found)


def _upkeep_of(chart: StructureChart, hung: Hung, place: str, found: Finding | None) -> Iterator[Task]:
    done = {work for entry in (found.value("upkeep") or () if found else ()) for work in entry["work"]}
    tie, tag, grown = (hung.standing.facts.get(fact) for fact in ("tie", "tag_state", "overgrowth"))
    if tie is not None and tie.value in ("loose", "missing") and "tie_replaced" not in done:
        yield Task("tie", chart.structure, place, hung.fragment, tie.value, tie.survey)
    if tag is not None and tag.value in ("unreadable", "missing") and "tag_cleaned" not in done:
        yield Task("tag", chart.structure, place, hung.fragment, tag.value, tag.survey)
    if grown is not None and grown.value and "cleaned" not in done:
        yield Task("overgrown", chart.structure, place, hung.fragment, ", ".join(grown.value), grown.survey)


def _of_pages(chart: StructureChart, survey: str) -> Iterator[Task]:
    for page in chart.pages:
        if chart.coverage(page, survey):
            continue
        last = _last_coverage(chart.about.get(f"page:{page}", ()), survey)
        if last is not None and all("alive" not in said for said in last.value("coverage")):
            reason = next((said["reason"] for said in last.value("coverage") if said.get("reason")), "")
            yield Task("not_reached", chart.structure, page, "", reason, last.survey)
    whole = _last_coverage(chart.about.get(f"structure:{chart.structure}", ()), survey)
    if whole is not None and not any(chart.coverage(page, survey) for page in chart.pages):
        yield Task("not_reached", chart.structure, chart.structure, "", "", whole.survey)


def _last_coverage(findings: tuple[Finding, ...], survey: str) -> Finding | None:
    """The latest survey before this one that says who looked there, or that nobody did."""
    said = [one for one in findings if one.survey < survey and one.value("coverage")]
    return max(said, key=lambda one: one.survey, default=None)


def _cleaning(store: Store, chart: StructureChart, today: date) -> Iterator[Task]:
    days = sorted(set(_cleaned(store, chart)))
    if not days:
        return
    gaps = [(later - earlier).days for earlier, later in pairwise(days)]
    usual = median(gaps) if len(gaps) >= 2 else USUAL_DAYS
    since = (today - days[-1]).days
    if since >= usual:
        yield Task("cleaning", chart.structure, chart.structure, days=since)


def _cleaned(store: Store, chart: StructureChart) -> Iterator[date]:
    """The days on which the structure, or a page of it, was cleaned."""
    for subject, findings in chart.about.items():
        if split_subject(subject)[0] not in ("structure", "page"):
            continue
        for finding in findings:
            for entry in store.logged(finding.survey, subject, "upkeep"):
                if isinstance(entry, UpkeepDone) and "cleaned" in entry.work:
                    yield entry.observed.date()
