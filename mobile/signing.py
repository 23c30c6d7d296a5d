"""Signing a page off: what is vouched for, which rows that writes, and what about it is unlikely."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final, Literal, TypeAlias

from mobile.chart import Hung, StructureChart
from shared_schema.entries import ConditionSeen
from shared_schema.facts import LIVING

__all__ = ["PageReview", "Row", "Unlikely", "UnlikelySort", "review_page", "unlikely_mark", "unlikely_page"]

UnlikelySort: TypeAlias = Literal["lost_then_living", "dead_then_living", "signed_in_seconds", "none_marked"]

_TOO_FAST: Final = timedelta(seconds=5)
_MANY: Final = 10


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


@dataclass(frozen=True, slots=True)
class Unlikely:
    """Something that may be true and should have a note; `sort` is for translation, `detail` says it in English.

    `where` is the page or position that it is about.
    """

    sort: UnlikelySort
    detail: str
    where: str


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
    if entry.status not in LIVING:
        return ()
    return _back_to_life(hung, entry.survey, entry.status)


def unlikely_page(
    chart: StructureChart, page: str, survey: str, opened: datetime | None = None, signed: datetime | None = None
) -> tuple[Unlikely, ...]:
    """What is unlikely about a page as `survey` has it; with the moments when it was opened and signed, about its haste."""
    found: list[Unlikely] = []
    if opened is not None and signed is not None and signed - opened < _TOO_FAST:
        seconds = (signed - opened).total_seconds()
        found.append(Unlikely("signed_in_seconds", f"{page} was signed off {seconds:.0f} s after it was opened", page))
    hung = chart.on_page(page)
    before = max((one.survey for each in hung for one in each.findings if one.survey < survey), default=None)
    if before is not None:
        then = sum(_status(one, before) not in (None, "alive") for one in hung)
        now = sum(_status(one, survey) not in (None, "alive") for one in hung)
        if then >= _MANY and now == 0:
            detail = f"nothing is marked on {page}, and {before or 'the record'} had {then}"
            found.append(Unlikely("none_marked", detail, page))
    for one in hung:
        status = _status(one, survey)
        if status in LIVING:
            found += _back_to_life(one, survey, status or "")
    return tuple(found)


def _back_to_life(hung: Hung, survey: str, status: str) -> tuple[Unlikely, ...]:
    before, where = hung.before(survey), hung.place or ""
    if before is not None and before.value == "lost":
        return (Unlikely("lost_then_living", f"{hung.fragment} was lost in {before.survey} and is {status} now", where),)
    if before is not None and before.value == "dead":
        return (Unlikely("dead_then_living", f"{hung.fragment} was dead in {before.survey} and is {status} now", where),)
    return ()


def _status(hung: Hung, survey: str) -> str | None:
    finding = hung.finding(survey)
    status: str | None = None if finding is None else finding.value("status")
    return status
