"""An entry's line as the store files it: under its group and its place, with the line itself untouched."""

from collections.abc import Iterable
from typing import NamedTuple

from shared_schema.entries import BaseEntry, Entry, entry_id_of, read_entry, write_entry
from shared_schema.errors import EntryNotUnderstood, IdentityClash, SchemaError
from shared_schema.ids import EntryId, split_subject, structure_of_place

__all__ = ["Row", "read_line", "row_of_entry", "row_of_line", "rows_by_id"]


class Row(NamedTuple):
    """A line as it is stored. One that cannot be understood has no subject, and so is in no group.

    `place` is the address that the entry has to do with, where it says so: of a position or page, or `T07/` of a structure.
    """

    writer: str
    number: int
    survey: str
    subject: str
    place: str | None
    raw: bytes


def row_of_entry(entry: BaseEntry, line: bytes | None = None) -> Row:
    """The row of an entry; `line` where it came as one, which is then kept as it is."""
    raw = write_entry(entry) if line is None else line
    return Row(*entry.entry_id, entry.survey, entry.subject, _place_of(entry), raw)


def row_of_line(line: bytes) -> Row:
    """The row of a line. Raises BadFrame where it has not even an id."""
    try:
        return row_of_entry(read_entry(line), line)
    except EntryNotUnderstood:
        return Row(*entry_id_of(line), "", "", None, line)


def _place_of(entry: BaseEntry) -> str | None:
    sort, name = split_subject(entry.subject)
    if sort == "structure":
        return f"{name}/"
    if sort in ("page", "position"):
        return name
    place: str = entry.__dict__.get("place") or entry.__dict__.get("seen_at") or ""  # getattr is slow where there is none
    return place if sort == "fragment" and structure_of_place(place) else None


def rows_by_id(lines: Iterable[bytes]) -> dict[tuple[str, int], Row]:
    """The rows of lines. Raises BadFrame, or IdentityClash where one id comes twice with different bytes."""
    rows: dict[tuple[str, int], Row] = {}
    for row in map(row_of_line, lines):
        if rows.setdefault((row.writer, row.number), row).raw != row.raw:
            raise IdentityClash(str(EntryId(row.writer, row.number)))
    return rows


def read_line(line: bytes) -> Entry | None:
    """The entry on a stored line, None where nothing can be made of it."""
    try:
        return read_entry(line)
    except SchemaError:
        return None
