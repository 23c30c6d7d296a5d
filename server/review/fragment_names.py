"""The names of all fragments, kept in memory to look through: a database takes a tenth of a second for as many."""

from collections.abc import Collection
from itertools import chain
from typing import Final

from sqlalchemy import Connection, select
from sqlmodel import col

from server.review.remembering import Shelf, remembered
from server.review.touched import Touched
from server.store.bulk import in_chunks
from server.store.models import StandingRow

__all__ = ["fragments_called"]

_NAMES: Final = Shelf("fragment names", most=1)
_BEGIN: Final = len("fragment:")


def fragments_called(connection: Connection, nursery: int, text: str, most: int) -> list[str]:
    """At most so many subjects with this text in their names, capitals forgiven; those that begin with it first, by name."""
    sought = text.lower()
    begin: list[str] = []
    within: list[str] = []
    for subject in _names(connection, nursery):
        at = subject.lower().find(sought, _BEGIN)
        if at == _BEGIN:
            begin.append(subject)
        elif at > _BEGIN:
            within.append(subject)
    return [*begin, *within][:most]


def _names(connection: Connection, nursery: int) -> Collection[str]:
    """All subjects, sorted."""
    known = select(col(StandingRow.subject)).where(col(StandingRow.nursery) == nursery, col(StandingRow.sort) == "fragment")

    def mend(held: list[str], touched: Touched) -> list[str]:
        new = in_chunks(sorted(touched.fragments.difference(held)))
        found = (connection.execute(known.where(col(StandingRow.subject).in_(some))).scalars() for some in new)
        return sorted(chain(held, *found))

    return remembered(connection, nursery, _NAMES, "", lambda: sorted(connection.execute(known).scalars()), mend=mend)
