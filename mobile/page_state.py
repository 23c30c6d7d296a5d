"""How far each page of a structure is in one survey: not opened, in work, signed off, not reached, and where it asks."""

from collections.abc import Iterator
from typing import Any

from mobile.chart import Hung, StructureChart
from mobile.overview import PageMark, PageState
from shared_schema.fold import Finding
from shared_schema.ids import parse_entry_id

__all__ = ["asks", "page_marks"]


def page_marks(chart: StructureChart, survey: str) -> tuple[PageMark, ...]:
    """The pages of the design in order; none where no design is known.

    A page is signed off until the tablet that signed it says something else about a status or a place there, or until
    more is left that nobody spoke of than was signed as unseen: what came later, nobody vouched for. A page that was not
    reached, and of which somebody spoke all the same, is in work.
    """
    told: dict[str, dict[str, int]] = {}
    silent: dict[str, int] = {}
    asking: set[str] = set()
    for place, several in chart.by_place.items():
        page = _page(place)
        for hung in several:
            finding = hung.finding(survey)
            _tell(told, page, finding)
            if hung.here and (finding is None or "status" not in finding.slots):
                silent[page] = silent.get(page, 0) + 1
        if asks(several):
            asking.add(page)
    for subject, findings in chart.about.items():
        if subject.startswith("position:"):
            for one in findings:
                if one.survey == survey:
                    _tell(told, _page(subject), one)
                if one.open:
                    asking.add(_page(subject))
    pages = () if chart.design is None else chart.design.pages
    return tuple(PageMark(page.path, _state(chart, page.path, survey, told, silent), page.path in asking) for page in pages)


def asks(several: tuple[Hung, ...]) -> bool:
    """Whether somebody has to look at a position: records disagree, or more than one coral is said to hang there."""
    return any(found.open for hung in several for found in hung.standing.facts.values()) or sum(hung.here for hung in several) > 1


def _page(place: str) -> str:
    return place.partition("/")[2].partition(".")[0]


def _tell(told: dict[str, dict[str, int]], page: str, finding: Finding | None) -> None:
    """Note who spoke last of a page: writer -> number."""
    for fact in ("status", "place"):
        slot = None if finding is None else finding.slots.get(fact)
        for name in slot.heads if slot is not None else ():
            writer, number = parse_entry_id(name)
            latest = told.setdefault(page, {})
            latest[writer] = max(number, latest.get(writer, 0))


def _state(chart: StructureChart, page: str, survey: str, told: dict[str, dict[str, int]], silent: dict[str, int]) -> PageState:
    spoken, left = told.get(page, {}), silent.get(page, 0)
    signed = [
        (parse_entry_id(name), said["unseen"])
        for name, said in _coverage(chart, f"page:{chart.structure}/{page}", survey, signed=True)
    ]
    if any(spoken.get(writer, 0) < number and left <= unseen for (writer, number), unseen in signed):
        return "signed_off"
    if spoken or signed:
        return "in_work"
    subjects = (f"page:{chart.structure}/{page}", f"structure:{chart.structure}")
    passed = any(True for subject in subjects for _ in _coverage(chart, subject, survey, signed=False))
    return "not_reached" if passed else "not_opened"


def _coverage(chart: StructureChart, subject: str, survey: str, *, signed: bool) -> Iterator[tuple[str, Any]]:
    """(id, what it says) of the entries that vouch for a page, or of those that say that nobody reached it."""
    finding = chart.finding(subject, survey)
    slot = None if finding is None else finding.slots.get("coverage")
    if slot is not None:
        yield from (one for one in zip(slot.heads, slot.value, strict=True) if ("alive" in one[1]) == signed)
