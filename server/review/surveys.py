"""Surveys: what each is about, how far it got, and what it found in sum."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import islice
from typing import Final

from sqlalchemy import Connection

from server.review.calendar import Plan, plans_in
from server.review.coverage import Coverage
from server.review.maps import StructureMap, maps_in
from server.review.progress import Progress, StructureProgress, look_closer
from server.review.remembering import Shelf, remembered
from server.review.structures import structures_in
from server.review.touched import Touched
from server.review.wholes import Summary, Whole, plan_of, read_whole, whole_of
from server.store.engine import reading
from server.store.record import RecordStore

__all__ = ["Overview", "StructureFound", "look_over_survey", "name_surveys", "read_plan", "sum_up_surveys"]

MISSING_AT_ONCE: Final = 12

_STRUCTURES: Final = Shelf("structures", most=8)


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


def name_surveys(store: RecordStore) -> list[str]:
    """All surveys, newest first."""
    with reading(store.engine) as connection:
        return list(plans_in(connection, store.nursery))


def sum_up_surveys(store: RecordStore, first: int, limit: int) -> tuple[list[Summary], int]:
    """Surveys, newest first, from `first` (counted from 0), and how many there are in all."""
    with reading(store.engine) as connection:
        plans = list(plans_in(connection, store.nursery).values())
        hung = structures_in(connection, store.nursery)
        summaries = [whole_of(connection, store.nursery, plan, hung).summary for plan in plans[first : first + limit]]
    return summaries, len(plans)


def look_over_survey(store: RecordStore, survey: str, first: int, limit: int, most: int = 0) -> Overview:
    """A survey and `limit` of its structures from `first` (counted from 0) in reading order. Raises NothingSuch.

    Where there are no more than `most` in all, parts are as large as that.
    """
    with reading(store.engine) as connection:
        whole = read_whole(store, connection, survey)
        if len(whole.hung) <= most:
            first, limit = first // limit * most, most
        found = _structures(store, connection, whole, first, limit) if limit else ()
        begun_first = sorted(whole.progress.missing, key=lambda one: one.untouched)
        missing = look_closer(connection, store.nursery, survey, begun_first[:MISSING_AT_ONCE]) if limit else ()
    return Overview(whole.summary, tuple(whole.hung), first, found, whole.progress, tuple(missing))


def _structures(store: RecordStore, connection: Connection, whole: Whole, first: int, limit: int) -> tuple[StructureFound, ...]:
    survey = whole.summary.plan.survey
    some = dict(islice(whole.hung.items(), first, first + limit))

    def read(names: Iterable[str]) -> dict[str, StructureFound]:
        wanted = {name: some[name] for name in names}
        maps = maps_in(connection, store.nursery, survey, wanted, whole.missed_on(wanted))
        return {name: StructureFound(maps[name], whole.coverage[name]) for name in wanted}

    def mend(held: dict[str, StructureFound], touched: Touched) -> dict[str, StructureFound]:
        anew = read(
            name
            for name in some
            if name in touched.structures or name not in held or held[name].coverage is not whole.coverage[name]
        )
        return {name: anew.get(name) or held[name] for name in some}

    # What hangs where by now has a say, for fragments of which a survey does not say it: any entry may change them.
    key = f"{survey} {first} {limit}"
    found = remembered(connection, store.nursery, _STRUCTURES, key, lambda: read(some), mend=mend, beside=some)
    return tuple(found.values())


def read_plan(store: RecordStore, survey: str) -> Plan:
    """A survey's plan. Raises NothingSuch."""
    with reading(store.engine) as connection:
        return plan_of(connection, store.nursery, survey)
