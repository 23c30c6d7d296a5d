"""Who and what the entries' short names stand for: people and tablets."""

from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy import select
from sqlmodel import col

from server.store.engine import reading
from server.store.folding import load_standing
from server.store.models import StandingRow, WriterRow
from server.store.record import RecordStore
from shared_schema.ids import is_office, split_subject

__all__ = ["Roster", "read_roster"]


@dataclass(frozen=True, slots=True)
class Roster:
    """person id -> name, and writer id -> name of the tablet."""

    people: Mapping[str, str]
    tablets: Mapping[str, str]

    def person(self, name: str) -> str:
        """Somebody's name; their id where nobody listed them."""
        return self.people.get(name, name)

    def tablet(self, writer: str) -> str:
        """A tablet's name; its id where it has none. The office has no name: it gives ""."""
        return "" if is_office(writer) else self.tablets.get(writer) or writer


def read_roster(store: RecordStore) -> Roster:
    """Everybody who is listed, and every tablet that was heard of."""
    with reading(store.engine) as connection:
        people = connection.execute(
            select(col(StandingRow.subject), col(StandingRow.facts)).where(
                col(StandingRow.nursery) == store.nursery, col(StandingRow.sort) == "person"
            )
        ).all()
        tablets = connection.execute(
            select(col(WriterRow.writer), col(WriterRow.name)).where(col(WriterRow.nursery) == store.nursery)
        ).all()
    names = {split_subject(subject)[1]: load_standing(subject, facts).value("name") for subject, facts in people}
    return Roster({key: name for key, name in names.items() if name}, {row.writer: row.name for row in tablets})
