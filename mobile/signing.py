"""Signing a page off: what is vouched for, which rows that writes, and what about it is unlikely."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import Final, Literal

from mobile.chart import Hung, StructureChart
from shared_schema.entries import ConditionSeen
from shared_schema.unlikely import Unlikely, back_to_life, none_marked, signed_in_haste

__all__ = ["PageReview", "Row", "review_page", "took", "unlikely_mark", "unlikely_page"]

_LONGEST_S: Final = 1_000_000


@dataclass(frozen=True, slots=True)
class Row:
    """What signing off will say of one fragment that nobody marked."""

    hung: Hung
    status: Literal["alive", "dead"]


@dataclass(frozen=True, slots=True)
class PageReview:
    """What signing a page off now would vouch for: its counts, whole page, and the rows that it would write.

    A fragment that nobody marked is alive; one that was dead in place when last looked at is still dead and counts as
    marked. One that was lost is not expected here and is in no count. `unseen` are those that the diver did not look at.
    """

    page: str
    survey: str
    alive: int
    marked: int
    rows: tuple[Row, ...]
    unseen: tuple[Hung, ...]


def review_page(chart: StructureChart, page: str, survey: str, unseen: Collection[str] = ()) -> PageReview:
    """What signing off `page` in `survey` would say; `unseen` are positions or fragments that were not looked at."""
    alive = marked = 0
    rows: list[Row] = []
    skipped: list[Hung] = []
    for hung in chart.on_page(page):
        status = _status(hung, survey)
        if status is not None:
            alive += status == "alive"
            marked += status != "alive"
        elif hung.fragment in unseen or hung.place in unseen:
            skipped.append(hung)
        elif hung.here:
            dead = hung.standing.value("status") == "dead"
            rows.append(Row(hung, "dead" if dead else "alive"))
            alive += not dead
            marked += dead
    return PageReview(page, survey, alive, marked, tuple(rows), tuple(skipped))


def unlikely_mark(entry: ConditionSeen, hung: Hung) -> tuple[Unlikely, ...]:
    """What is unlikely about a status, against what was known of the fragment before that survey."""
    return _back_to_life(hung, entry.survey, entry.status)


def unlikely_page(
    chart: StructureChart, page: str, survey: str, opened: datetime | None = None, signed: datetime | None = None
) -> tuple[Unlikely, ...]:
    """What is unlikely about a page as `survey` has it; with the moments when it was opened and signed, about its haste."""
    seconds = None if opened is None or signed is None else (signed - opened).total_seconds()
    found = [*signed_in_haste(page, seconds)]
    hung = chart.on_page(page)
    before = max((one.survey for each in hung for one in each.findings if one.survey < survey), default=None)
    if before is not None:
        now, then = (sum(_status(one, each) not in (None, "alive") for one in hung) for each in (survey, before))
        found += none_marked(page, now, then, before)
    for one in hung:
        found += _back_to_life(one, survey, _status(one, survey))
    return tuple(found)


def took(opened: datetime | None, signed: datetime) -> dict[str, int]:
    """The whole seconds between, as the field of a signature; nothing where nobody knows them, as after a clock was set."""
    seconds = -1 if opened is None else int((signed - opened).total_seconds())
    return {"seconds": seconds} if 0 <= seconds <= _LONGEST_S else {}


def _back_to_life(hung: Hung, survey: str, status: str | None) -> tuple[Unlikely, ...]:
    before = hung.before(survey)
    return back_to_life(hung.fragment, hung.place or "", status, None if before is None else (before.survey, before.value))


def _status(hung: Hung, survey: str) -> str | None:
    finding = hung.finding(survey)
    status: str | None = None if finding is None else finding.value("status")
    return status
