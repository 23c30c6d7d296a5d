"""What a survey saw, by place: for counting page by page within the database."""

from collections.abc import Sequence
from typing import Any

from sqlalchemy import ColumnElement, Connection, String, Subquery, and_, func, select
from sqlmodel import col

from server.store.models import FindingRow, StandingRow

__all__ = ["page_number", "sighted"]


def sighted(nursery: int, survey: str, structures: Sequence[str]) -> Subquery:
    """(structure, place, subject, status) of each finding of a survey that says in what condition something is."""
    mine = (col(FindingRow.nursery) == nursery, col(FindingRow.survey) == survey, col(FindingRow.status).is_not(None))
    subject: ColumnElement[Any] = col(FindingRow.subject).label("subject")
    status: ColumnElement[Any] = col(FindingRow.status).label("status")
    placed = select(col(FindingRow.structure).label("structure"), col(FindingRow.place).label("place"), subject, status).where(
        *mine, col(FindingRow.sort).in_(("fragment", "position")), col(FindingRow.structure).in_(structures)
    )
    known = (
        select(col(StandingRow.structure), col(StandingRow.place), subject, status)
        .join(
            StandingRow,
            and_(
                col(StandingRow.nursery) == col(FindingRow.nursery),
                col(StandingRow.subject) == col(FindingRow.subject),
            ),
        )
        .where(
            *mine,
            col(FindingRow.sort) == "fragment",
            col(FindingRow.structure).is_(None),
            col(StandingRow.structure).in_(structures),
        )
    )
    return placed.union_all(known).subquery()


def page_number(connection: Connection, structure: ColumnElement[Any], place: ColumnElement[Any]) -> ColumnElement[str]:
    """The first part of the path of a place."""
    path = func.substr(place, func.length(structure) + 2)
    find = func.instr if connection.dialect.name == "sqlite" else func.strpos
    return func.substr(path, 1, find(path + ".", ".") - 1, type_=String)
