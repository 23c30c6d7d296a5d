"""Whom fragments descend from, read line by line upwards and not for the whole nursery."""

from collections.abc import Mapping

from sqlalchemy import Connection, select
from sqlmodel import col

from server.store.models import StandingRow
from shared_schema.ids import split_subject

__all__ = ["parents_above"]


def parents_above(connection: Connection, nursery: int, *fragments: str) -> Mapping[str, str | None]:
    """fragment -> parent for these and all above them; a name that nobody planted is left out, None is a founder's."""
    parents: dict[str, str | None] = {}
    ahead = frozenset(fragments)
    met: set[str] = set()
    while ahead:
        rows = connection.execute(
            select(col(StandingRow.subject), col(StandingRow.parent)).where(
                col(StandingRow.nursery) == nursery,
                col(StandingRow.subject).in_([f"fragment:{name}" for name in ahead]),
                col(StandingRow.place).is_not(None),
            )
        ).all()
        met |= ahead
        parents.update({split_subject(subject)[1]: parent for subject, parent in rows})
        ahead = frozenset(parent for _, parent in rows if parent is not None and parent not in met)
    return parents
