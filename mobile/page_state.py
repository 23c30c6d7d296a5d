"""How far each page of a structure is in one survey: not opened, in work, signed off, not reached, and where it asks."""

from collections.abc import Iterator

from mobile.chart import Hung, StructureChart
from mobile.overview import PageMark, PageState
from shared_schema.fold import Finding
from shared_schema.ids import parse_entry_id

__all__ = ["asks", "page_marks"]


def page_marks(chart: StructureChart, survey: str) -> tuple[PageMark, ...]:
    """The pages of the design in order; none where no design is known.

    A page is signed off until the tablet that signed it says something else about a status or a place there: what came
    later, nobody vouched for. A page that was not reached, and of which somebody spoke all the same, is in work.
    """
    told: dict[str, dict[str, int]] = {}
    asking: set[str] = set()
    for place, several in chart.by_place.items():
        page = _page(place)
        for hung in several:
            _tell(told, page, hung.finding(survey))
        if asks(several):
            asking.add(page)
    for subject, findings in chart.about.items():
        if subject.startswith("position:"):
            for finding in findings:
                if finding.survey == survey:
                    _tell(told, _page(subject), finding)
                if finding.open:
                    asking.add(_page(subject))
    pages = () if chart.design is None else chart.design.pages
    return tuple(PageMark(page.path, _state(chart, page.path, survey, told), page.path in asking) for page in pages)


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


def _state(chart: StructureChart, page: str, survey: str, told: dict[str, dict[str, int]]) -> PageState:
    spoken = told.get(page, {})
    signed = [parse_entry_id(name) for name in _coverage(chart, f"page:{chart.structure}/{page}", survey, signed=True)]
    if any(spoken.get(writer, 0) < number for writer, number in signed):
        return "signed_off"
    if spoken or signed:
        return "in_work"
    subjects = (f"page:{chart.structure}/{page}", f"structure:{chart.structure}")
    passed = any(next(_coverage(chart, subject, survey, signed=False), "") for subject in subjects)
    return "not_reached" if passed else "not_opened"


def _coverage(chart: StructureChart, subject: str, survey: str, *, signed: bool) -> Iterator[str]:
    """The ids of the entries that vouch for a page, or of those that say that nobody reached it."""
    finding = chart.finding(subject, survey)
    slot = None if finding is None else finding.slots.get("coverage")
    if slot is not None:
        yield from (name for name, said in zip(slot.heads, slot.value, strict=True) if ("alive" in said) == signed)
