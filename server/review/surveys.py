"""Surveys: what each is about, how far it got, and what it found in sum."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from sqlalchemy import Connection, func, select
from sqlmodel import col

from server.review.calendar import Plan, plans_in
from server.review.coverage import Coverage, coverage_in
from server.review.maps import StructureMap, Tally, maps_in
from server.review.placing import Hangs, not_looked_at
from server.review.progress import Progress, StructureProgress, look_closer, progress_in
from server.review.remembering import remembered
from server.review.structures import Hung, in_reading_order, structures_in
from server.store.engine import reading
from server.store.models import FindingRow
from server.store.record import RecordStore
from shared_schema.errors import NothingSuch
from shared_schema.ids import structure_of_place

__all__ = [
    "Overview",
    "StructureFound",
    "Summary",
    "Whole",
    "look_over_survey",
    "plan_of",
    "progress_of",
    "read_plan",
    "read_whole",
    "structures_of",
    "sum_up_surveys",
]


MISSING_AT_ONCE: Final = 12


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
class StructureFound:
    """A structure in a survey."""

    map: StructureMap
    coverage: Coverage


@dataclass(frozen=True, slots=True)
class Overview:
    """A survey with some of its structures, from `first` (counted from 0) of all `names`; `summary` speaks of them all.

    `missing` are some that are not signed off whole, seen closer: those that somebody began, and as many of the others.
    """

    summary: Summary
    names: tuple[str, ...]
    first: int
    structures: tuple[StructureFound, ...]
    progress: Progress
    missing: tuple[StructureProgress, ...]


def sum_up_surveys(store: RecordStore, first: int, limit: int) -> tuple[list[Summary], int]:
    """Surveys, newest first, from `first` (counted from 0), and how many there are in all."""
    with reading(store.engine) as connection:
        plans = list(plans_in(connection, store.nursery).values())
        hung = structures_in(connection, store.nursery)
        summaries = [_read(store, connection, plan, hung).summary for plan in plans[first : first + limit]]
    return summaries, len(plans)


def look_over_survey(store: RecordStore, survey: str, first: int, limit: int) -> Overview:
    """A survey and its structures in reading order. Raises NothingSuch."""
    with reading(store.engine) as connection:
        whole = read_whole(store, connection, survey)
        names = list(whole.hung)
        some = {name: whole.hung[name] for name in names[first : first + limit]}

        def work_out() -> tuple[StructureFound, ...]:
            maps = maps_in(connection, store.nursery, survey, some, whole.missed)
            return tuple(StructureFound(maps[name], whole.coverage[name]) for name in some)

        # What hangs where by now has a say, for fragments of which a survey does not say it: any entry may change them.
        found = remembered(connection, store.nursery, "structures", f"{survey} {first} {limit}", work_out, most=8)
        progress = progress_of(store, connection, whole)
        begun_first = sorted(progress.missing, key=lambda one: one.untouched)
        missing = look_closer(connection, store.nursery, survey, begun_first[:MISSING_AT_ONCE]) if limit else ()
    return Overview(whole.summary, tuple(names), first, found, progress, tuple(missing))


def read_plan(store: RecordStore, survey: str) -> Plan:
    """A survey's plan. Raises NothingSuch."""
    with reading(store.engine) as connection:
        return plan_of(connection, store.nursery, survey)


def plan_of(connection: Connection, nursery: int, survey: str) -> Plan:
    """A survey's plan. Raises NothingSuch."""
    plan = plans_in(connection, nursery).get(survey)
    if plan is None:
        raise NothingSuch("there is no survey %(survey)r in the record: nobody planned it and no tablet brought it", survey=survey)
    return plan


@dataclass(frozen=True, slots=True)
class Whole:
    """All that is read for a survey as a whole."""

    summary: Summary
    hung: dict[str, Hung]
    coverage: dict[str, Coverage]
    missed: list[Hangs]


def read_whole(store: RecordStore, connection: Connection, survey: str) -> Whole:
    """A survey as a whole. Raises NothingSuch."""
    nursery = store.nursery
    return _read(store, connection, plan_of(connection, nursery, survey), structures_in(connection, nursery))


def _read(store: RecordStore, connection: Connection, plan: Plan, hung: Mapping[str, Hung]) -> Whole:
    def work_out() -> Whole:
        return _work_out(connection, store.nursery, plan, hung)

    return remembered(connection, store.nursery, "whole", plan.survey, work_out, until=plan.survey, beside=(plan, hung))


def _work_out(connection: Connection, nursery: int, plan: Plan, hung: Mapping[str, Hung]) -> Whole:
    mine = {name: hung.get(name, Hung(name)) for name in structures_of(connection, nursery, plan, hung)}
    coverage = coverage_in(connection, nursery, plan.survey, mine, every_word=False)
    missed = [one for one in not_looked_at(connection, nursery, plan.survey) if structure_of_place(one.place) in mine]
    summary = Summary(
        plan=plan,
        structures=len(mine),
        tally=_tally(connection, nursery, plan.survey, len(missed)),
        pages=sum(len(one.pages) for one in coverage.values()),
        signed=sum(len(one.signed) for one in coverage.values()),
        not_reached=sum(len(one.not_reached) for one in coverage.values()),
    )
    return Whole(summary, mine, coverage, missed)


def progress_of(store: RecordStore, connection: Connection, whole: Whole) -> Progress:
    """How far the survey got on its structures."""
    survey = whole.summary.plan.survey

    def work_out() -> Progress:
        return progress_in(connection, store.nursery, survey, whole.hung, whole.coverage)

    beside = (whole.summary.plan, whole.hung)
    return remembered(connection, store.nursery, "progress", survey, work_out, until=survey, beside=beside)


def _tally(connection: Connection, nursery: int, survey: str, unseen: int) -> Tally:
    rows = connection.execute(
        select(col(FindingRow.status), func.count(), func.sum(col(FindingRow.open)))
        .where(col(FindingRow.nursery) == nursery, col(FindingRow.survey) == survey)
        .group_by(col(FindingRow.status))
    ).all()
    found = {status: count for status, count, _ in rows if status is not None}
    return Tally(found, unseen, sum(int(questions or 0) for _, _, questions in rows))


def structures_of(connection: Connection, nursery: int, plan: Plan, hung: Mapping[str, Hung]) -> list[str]:
    """The structures of a survey: those that its plan names, else all that hung by then, and any of which it says something."""
    spoken_of = connection.execute(
        select(col(FindingRow.structure))
        .where(
            col(FindingRow.nursery) == nursery,
            col(FindingRow.survey) == plan.survey,
            col(FindingRow.structure).is_not(None),
        )
        .distinct()
    ).scalars()
    planned = plan.structures or [name for name, one in hung.items() if one.since <= plan.survey]
    return in_reading_order({*planned, *(name for name in spoken_of if name)})
