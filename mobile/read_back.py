"""A page read back: arm by arm, or a few places of a row at a time, as the record has it, for a partner to compare."""

from dataclasses import dataclass
from typing import Any, Final

from mobile.dive_desk import DiveDesk
from mobile.dive_view import status_here
from shared_schema.designs import Position

__all__ = ["Card", "Line", "read_back"]

_AT_ONCE: Final = 5
_TOLD: Final = ("live_tissue", "bleaching", "predator", "signs", "overgrowth", "breakage", "tie", "length_mm", "tle_mm")


@dataclass(frozen=True, slots=True)
class Line:
    """One place: its number, its status (None where nobody spoke of it), and the (fact, value) that were said besides.

    `empty`: nothing hangs there and nobody said anything. `unseen`: somebody said that nobody looked.
    """

    number: int
    status: str | None
    facts: tuple[tuple[str, Any], ...] = ()
    empty: bool = False
    unseen: bool = False


@dataclass(frozen=True, slots=True)
class Card:
    """What is read at once: an arm, row or stretch, or a part of it."""

    kind: str
    number: int
    lines: tuple[Line, ...]


def read_back(desk: DiveDesk) -> tuple[Card, ...]:
    """The page that is open, in reading order."""
    return tuple(
        Card(group.kind, group.number, tuple(_line(desk, position) for position in group.positions[start : start + _AT_ONCE]))
        for group in desk.page.groups
        for start in range(0, len(group.positions), _AT_ONCE)
    )


def _line(desk: DiveDesk, position: Position) -> Line:
    chart, survey = desk.open.chart, desk.survey
    place = desk.open.address(position.path)
    status = status_here(chart, place, survey)
    findings = [hung.finding(survey) for hung in chart.at(place)] or [chart.finding(f"position:{place}", survey)]
    facts = tuple(
        (fact, value) for finding in findings if finding is not None for fact in _TOLD if (value := finding.value(fact)) is not None
    )
    unseen = status is None and place in desk.recorder.unseen.on(desk.page_address)
    return Line(position.labels[-1].number, status, facts, status is None and not desk.open.hanging(position.path), unseen)
