"""What a survey saw, by place: for counting page by page within the database."""

from collections.abc import Sequence
from typing import Any

from sqlalchemy import ColumnElement, Connection, String, Subquery, func, select
from sqlalchemy.orm import aliased
from sqlmodel import col

from server.store.models import FindingRow, StandingRow
from server.store.picked import says_place

__all__ = ["page_number", "sighted", "where_it_hung"]


def sighted(nursery: int, survey: str, structures: Sequence[str]) -> Subquery:
    """(structure, place, subject, status) of each finding of a survey that says in what condition something is."""
    kept = ("structure", "place", "subject", "status")
    columns: list[ColumnElement[Any]] = [col(getattr(FindingRow, name)).label(name) for name in kept]
    placed = select(*columns).where(
        col(FindingRow.nursery) == nursery,
        col(FindingRow.survey) == survey,
        col(FindingRow.status).is_not(None),
        col(FindingRow.sort).in_(("fragment", "position")),
        col(FindingRow.structure).in_(structures),
    )
    there = where_it_hung(nursery, survey)
    known = select(there.c.structure, there.c.place, there.c.subject, there.c.status).where(
        there.c.status.is_not(None), there.c.structure.in_(structures)
    )
    return placed.union_all(known).subquery()


def where_it_hung(nursery: int, survey: str) -> Subquery:
    """(structure, place, subject, status, open) of fragments of which a survey found something, and not where they are.

    They are where they hung by then, whatever became of them since.
    """
    said, then, before = (aliased(FindingRow) for _ in range(3))
    silent = (
        col(said.nursery) == nursery,
        col(said.survey) == survey,
        col(said.sort) == "fragment",
        col(said.structure).is_(None),
        col(said.place).is_(None),
        col(StandingRow.nursery) == nursery,
        col(StandingRow.subject) == col(said.subject),
    )
    tells: tuple[ColumnElement[Any], ...] = (
        col(said.subject).label("subject"),
        col(said.status).label("status"),
        col(said.open).label("open"),
    )
    stands = select(col(StandingRow.structure).label("structure"), col(StandingRow.place).label("place"), *tells).where(
        *silent, col(StandingRow.place_survey) <= survey
    )
    last = (
        select(func.max(col(before.survey)))
        .where(
            col(before.nursery) == nursery,
            col(before.subject) == col(said.subject),
            col(before.survey) < survey,
            says_place(col(before.slots)),
        )
        .scalar_subquery()
    )
    moved = select(col(then.structure), col(then.place), *tells).where(
        *silent,
        col(StandingRow.place_survey) > survey,
        col(then.nursery) == nursery,
        col(then.subject) == col(said.subject),
        col(then.survey) == last,
    )
    return stands.union_all(moved).subquery()


def page_number(connection: Connection, structure: ColumnElement[Any], place: ColumnElement[Any]) -> ColumnElement[str]:
    """The first part of the path of a place."""
    path = func.substr(place, func.length(structure) + 2)
    find = func.instr if connection.dialect.name == "sqlite" else func.strpos
    return func.substr(path, 1, find(path + ".", ".") - 1, type_=String)
