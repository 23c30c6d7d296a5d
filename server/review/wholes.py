"""A survey as a whole: what its structures are, how far it got on each, what it missed there and what it found in sum.

It is kept structure by structure, so that what arrives has only those worked out again that it speaks of.
"""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Final, TypeVar

from sqlalchemy import ColumnElement, Connection, func, select, true
from sqlmodel import col

from server.review.calendar import Plan, plans_in
from server.review.coverage import Coverage, coverage_in
from server.review.maps import Tally
from server.review.placing import Hangs, not_looked_at
from server.review.progress import Progress, StructureProgress, progress_in
from server.review.remembering import Shelf, remembered
from server.review.structures import Hung, in_reading_order, structures_in
from server.review.touched import Touched
from server.store.bulk import in_chunks
from server.store.models import FindingRow
from server.store.record import RecordStore
from shared_schema.errors import NothingSuch
from shared_schema.ids import structure_of_place

__all__ = ["Summary", "Whole", "plan_of", "read_whole", "whole_of"]

Part = TypeVar("Part")

_WHOLE: Final = Shelf("whole")
_NOWHERE: Final = ""
"""Stands for the structure of what a survey found without saying where."""


@dataclass(frozen=True, slots=True)
class Summary:
    """A survey in one line. Pages are counted over its structures."""

    plan: Plan
    structures: int
    tally: Tally
    pages: int
    signed: int
    not_reached: int


@dataclass(frozen=True, slots=True)
class Count:
    """How many were found in which condition, and how many questions there are."""

    found: Mapping[str, int]
    questions: int


@dataclass(frozen=True, slots=True)
class Whole:
    """All that is read for a survey as a whole, by structure, in reading order; `summary` speaks of all of it.

    `missed` is what hung there and was not looked at. `counts` are of every structure of which the survey says something,
    planned or not.
    """

    summary: Summary
    hung: Mapping[str, Hung]
    coverage: Mapping[str, Coverage]
    work: Mapping[str, StructureProgress]
    missed: Mapping[str, list[Hangs]]
    counts: Mapping[str, Count]

    @property
    def progress(self) -> Progress:
        """How far the survey got."""
        return Progress(tuple(self.work.values()))

    def missed_on(self, structures: Iterable[str]) -> Iterable[Hangs]:
        """What nobody looked at on these structures."""
        return chain.from_iterable(self.missed.get(name, ()) for name in structures)


def plan_of(connection: Connection, nursery: int, survey: str) -> Plan:
    """A survey's plan. Raises NothingSuch."""
    plan = plans_in(connection, nursery).get(survey)
    if plan is None:
        raise NothingSuch("there is no survey %(survey)r in the record: nobody planned it and no tablet brought it", survey=survey)
    return plan


def read_whole(store: RecordStore, connection: Connection, survey: str) -> Whole:
    """A survey as a whole. Raises NothingSuch."""
    nursery = store.nursery
    return whole_of(connection, nursery, plan_of(connection, nursery, survey), structures_in(connection, nursery))


def whole_of(connection: Connection, nursery: int, plan: Plan, hung: Mapping[str, Hung]) -> Whole:
    """The survey of a plan; `hung` are all structures of the nursery."""

    def make() -> Whole:
        return _work_out(connection, nursery, plan, hung)

    def mend(held: Whole, touched: Touched) -> Whole:
        return _work_out(connection, nursery, plan, hung, held, touched.structures)

    return remembered(connection, nursery, _WHOLE, plan.survey, make, mend=mend, until=plan.survey, beside=(plan, hung))


def _work_out(
    connection: Connection,
    nursery: int,
    plan: Plan,
    hung: Mapping[str, Hung],
    held: Whole | None = None,
    touched: Collection[str] = (),
) -> Whole:
    """Everything, or of what is `held` that which was `touched`, and what does not hang as it did."""
    survey = plan.survey
    if held is None:
        counts = _count(connection, nursery, survey)
        mine = anew = _structures_of(plan, hung, counts)
    else:
        still = {name: one for name, one in held.counts.items() if name not in touched and name != _NOWHERE}
        counts = still | _count(connection, nursery, survey, touched)
        mine = _structures_of(plan, hung, counts)
        anew = {name: one for name, one in mine.items() if name in touched or held.hung.get(name) != one}
    coverage = coverage_in(connection, nursery, survey, anew, every_word=False)
    work = {one.hung.structure: one for one in progress_in(connection, nursery, survey, anew, coverage).structures}
    missed: dict[str, list[Hangs]] = {name: [] for name in anew}
    for one in not_looked_at(connection, nursery, survey, None if held is None else anew):
        missed.get(structure_of_place(one.place) or _NOWHERE, []).append(one)
    if held is not None:
        coverage, work, missed = (
            _joined(mine, coverage, held.coverage),
            _joined(mine, work, held.work),
            _joined(mine, missed, held.missed),
        )
    return Whole(_sum_up(plan, coverage, missed, counts), mine, coverage, work, missed, counts)


def _joined(names: Iterable[str], anew: Mapping[str, Part], held: Mapping[str, Part]) -> dict[str, Part]:
    return {name: anew[name] if name in anew else held[name] for name in names}


def _structures_of(plan: Plan, hung: Mapping[str, Hung], spoken_of: Iterable[str]) -> dict[str, Hung]:
    """Those that the plan names, else all that hung by then, and any of which the survey says something; in reading order."""
    named = plan.structures or [name for name, one in hung.items() if one.since <= plan.survey]
    mine = {*named, *spoken_of} - {_NOWHERE}
    ordered = [name for name in hung if name in mine] if mine <= hung.keys() else in_reading_order(mine)
    return {name: hung.get(name) or Hung(name) for name in ordered}


def _count(connection: Connection, nursery: int, survey: str, structures: Collection[str] | None = None) -> dict[str, Count]:
    """How many a survey found, by structure: everywhere, or on these and nowhere."""
    structure, status = col(FindingRow.structure), col(FindingRow.status)
    where: list[ColumnElement[bool]] = [true()]
    if structures is not None:
        where = [structure.is_(None), *(structure.in_(some) for some in in_chunks(sorted(structures)))]
    found: defaultdict[str, dict[str | None, tuple[int, int]]] = defaultdict(dict)
    for there in where:
        rows = connection.execute(
            select(structure, status, func.count(), func.sum(col(FindingRow.open)))
            .where(col(FindingRow.nursery) == nursery, col(FindingRow.survey) == survey, there)
            .group_by(structure, status)
        )
        for name, how, many, questions in rows:
            found[name or _NOWHERE][how] = (many, int(questions or 0))
    return {name: _count_of(by_status) for name, by_status in found.items()}


def _count_of(by_status: Mapping[str | None, tuple[int, int]]) -> Count:
    found = {status: many for status, (many, _) in by_status.items() if status is not None}
    return Count(found, sum(questions for _, questions in by_status.values()))


def _sum_up(
    plan: Plan, coverage: Mapping[str, Coverage], missed: Mapping[str, Sequence[Hangs]], counts: Mapping[str, Count]
) -> Summary:
    found: Counter[str] = Counter()
    for one in counts.values():
        for status, many in one.found.items():  # a Counter's own update takes five times as long for few
            found[status] += many
    tally = Tally(found, sum(map(len, missed.values())), sum(one.questions for one in counts.values()))
    return Summary(
        plan=plan,
        structures=len(coverage),
        tally=tally,
        pages=sum(len(one.pages) for one in coverage.values()),
        signed=sum(len(one.signed) for one in coverage.values()),
        not_reached=sum(len(one.not_reached) for one in coverage.values()),
    )
