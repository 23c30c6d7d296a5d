"""What tablets have brought so far, in one number that only grows: pages compare it with what they were made from."""

from collections.abc import Mapping
from typing import NamedTuple

from sqlalchemy import select
from sqlmodel import col

from server.store.engine import reading
from server.store.models import WriterRow
from server.store.record import RecordStore
from shared_schema.ids import is_office

__all__ = ["Brought", "read_brought"]


class Brought(NamedTuple):
    """Entries held of each tablet (writer -> number), and the tablets' names. The office's own entries do not count."""

    heads: Mapping[str, int]
    names: Mapping[str, str]

    @property
    def total(self) -> int:
        """How many entries tablets have brought."""
        return sum(self.heads.values())

    def grown_since(self, heads: Mapping[str, int]) -> list[str]:
        """The names of the tablets whose entries grew in number, as people know them."""
        grown = [writer for writer, head in self.heads.items() if head > heads.get(writer, 0)]
        return sorted(self.names.get(writer) or writer for writer in grown)


def read_brought(store: RecordStore) -> Brought:
    """What is held now."""
    with reading(store.engine) as connection:
        rows = connection.execute(
            select(col(WriterRow.writer), col(WriterRow.head), col(WriterRow.name)).where(
                col(WriterRow.nursery) == store.nursery, col(WriterRow.head) > 0
            )
        ).all()
    tablets = [row for row in rows if not is_office(row.writer)]
    return Brought({row.writer: row.head for row in tablets}, {row.writer: row.name for row in tablets})
