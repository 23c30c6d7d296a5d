"""Entries by their ids, as behind a slot, and all of a subject."""

from collections import defaultdict
from collections.abc import Collection

from sqlalchemy import Connection, select
from sqlmodel import col

from server.store.bulk import in_chunks
from server.store.models import EntryRow, FindingRow
from server.store.record import RecordStore
from shared_schema.entries import EntryWithdrawn, read_entry
from shared_schema.envelope import BaseEntry
from shared_schema.ids import parse_entry_id

__all__ = ["entries_about", "entries_named", "withdrawn_of"]


def entries_named(connection: Connection, nursery: int, names: Collection[str]) -> dict[str, BaseEntry]:
    """These entries by id; one that is not here is left out."""
    by_writer: dict[str, list[int]] = {}
    for name in names:
        writer, number = parse_entry_id(name)
        by_writer.setdefault(writer, []).append(number)
    found: dict[str, BaseEntry] = {}
    for writer, numbers in by_writer.items():
        for some in in_chunks(sorted(numbers)):
            rows = connection.execute(
                select(col(EntryRow.raw)).where(
                    col(EntryRow.nursery) == nursery,
                    col(EntryRow.writer) == writer,
                    col(EntryRow.number).in_(some),
                    col(EntryRow.set_aside).is_(None),
                )
            )
            for (raw,) in rows:
                entry = read_entry(raw)
                found[entry.id] = entry
    return found


def entries_about(connection: Connection, nursery: int, subject: str) -> list[BaseEntry]:
    """All understood entries about a subject, of all surveys that found something of it."""
    surveys = connection.execute(
        select(col(FindingRow.survey)).where(col(FindingRow.nursery) == nursery, col(FindingRow.subject) == subject)
    ).scalars()
    found: list[BaseEntry] = []
    for some in in_chunks(sorted(surveys)):
        rows = connection.execute(
            select(col(EntryRow.raw)).where(
                col(EntryRow.nursery) == nursery,
                col(EntryRow.survey).in_(some),
                col(EntryRow.subject) == subject,
                col(EntryRow.set_aside).is_(None),
            )
        )
        found += [read_entry(raw) for (raw,) in rows]
    return found


def withdrawn_of(store: RecordStore, entries: Collection[BaseEntry]) -> set[str]:
    """The ids of those that their own authors took back."""
    by_survey: defaultdict[str, list[BaseEntry]] = defaultdict(list)
    for entry in entries:
        by_survey[entry.survey].append(entry)
    found: set[str] = set()
    for survey, several in by_survey.items():
        groups = store.entries_of_several(survey, {one.subject for one in several})
        taken = {
            (one.entry.subject, one.entry.target, one.entry.by)
            for group in groups.values()
            for one in group
            if isinstance(one.entry, EntryWithdrawn)
        }
        found.update(one.id for one in several if (one.subject, one.id, one.by) in taken)
    return found
