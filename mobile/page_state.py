"""How far each page of a structure is in one survey: not opened, in work, signed off, not reached, and where it asks."""

from collections.abc import Iterator
from typing import Any

from mobile.chart import Hung, StructureChart
from mobile.overview import PageMark, PageState
from shared_schema.designs import Page
from shared_schema.fold import Finding
from shared_schema.ids import parse_entry_id

__all__ = ["asks", "asks_itself", "page_mark", "page_marks"]


def page_marks(chart: StructureChart, survey: str) -> tuple[PageMark, ...]:
    """The pages of the design in order; none where no design is known."""
    pages = () if chart.design is None else chart.design.pages
    return tuple(page_mark(chart, page, survey) for page in pages)


def page_mark(chart: StructureChart, page: Page, survey: str) -> PageMark:
    """How far one page is.

    It is signed off until the tablet that signed it says something else about a status or a place there, or until there is
    more that nobody spoke of than was signed as unseen: what came later, nobody vouched for. A page that was not reached,
    and of which somebody spoke all the same, is in work.
    """
    told: dict[str, int] = {}
    asking, silent = False, 0
    for position in page.positions:
        place = f"{chart.structure}/{position.path}"
        several = chart.at(place)
        for hung in several:
            finding = hung.finding(survey)
            _tell(told, finding)
            silent += hung.here and (finding is None or "status" not in finding.slots)
        _tell(told, chart.finding(f"position:{place}", survey))
        asking = asking or asks(several) or asks_itself(chart, place)
    return PageMark(page.path, _state(chart, page.path, survey, told, silent), asking)


def asks(several: tuple[Hung, ...]) -> bool:
    """Whether somebody has to look at a position: records disagree, or more than one coral is said to hang there."""
    if any(found.open for hung in several for found in hung.standing.facts.values()):
        return True
    return len(several) > 1 and sum(hung.here for hung in several) > 1


def asks_itself(chart: StructureChart, place: str) -> bool:
    """Whether records of a position itself, with nothing hanging there, disagree."""
    return any(finding.open for finding in chart.about.get(f"position:{place}", ()))


def _tell(told: dict[str, int], finding: Finding | None) -> None:
    """Note who spoke last: writer -> number."""
    if finding is None:
        return
    for fact in ("status", "place"):
        slot = finding.slots.get(fact)
        for name in slot.heads if slot is not None else ():
            writer, number = parse_entry_id(name)
            told[writer] = max(number, told.get(writer, 0))


def _state(chart: StructureChart, page: str, survey: str, spoken: dict[str, int], silent: int) -> PageState:
    own = [*_coverage(chart, f"page:{chart.structure}/{page}", survey)]
    signed = [(parse_entry_id(name), said) for name, said in own if "alive" in said]
    if any(spoken.get(writer, 0) < number and silent <= said["unseen"] for (writer, number), said in signed):
        return "signed_off"
    if spoken or signed:
        return "in_work"
    return "not_reached" if own or any(_coverage(chart, f"structure:{chart.structure}", survey)) else "not_opened"


def _coverage(chart: StructureChart, subject: str, survey: str) -> Iterator[tuple[str, Any]]:
    """(id, what it says) of the entries that vouch for a page, and of those that say that nobody reached it."""
    finding = chart.finding(subject, survey)
    slot = None if finding is None else finding.slots.get("coverage")
    if slot is not None:
        yield from zip(slot.heads, slot.value, strict=True)
