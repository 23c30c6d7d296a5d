"""Rows with their cells read: what a file says, before it is held against the record."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePath
from typing import Any, Final, TypeAlias

from server.registry.columns import PLANTED, Sort
from server.registry.problems import CellError, Problems
from server.registry.sources import RawCell, RawRow, Source
from server.registry.table_file import read_table
from server.registry.yaml_file import read_yaml

__all__ = ["Registry", "Row", "read_rows"]

_YAML: Final = frozenset({".yaml", ".yml"})


@dataclass(slots=True)
class Row:
    """One thing that a file describes: its name, the facts stated, the day that `planted` gives, and where it is written.

    One that is not `sound` has a cell that could not be read; it is here so that others may name it without blame.
    """

    sort: Sort
    name: str
    fields: dict[str, Any]
    planted: str | None
    raw: RawRow
    sound: bool = True

    @property
    def subject(self) -> str:
        """As entries name it."""
        return f"{self.sort.name}:{self.name}"

    @property
    def where(self) -> str:
        """The line, for a message about another line of the same load."""
        return f"line {self.raw.line} of {self.raw.file}"

    def blame(self, problems: Problems, heading: str, reason: str) -> None:
        """Note a problem of a cell, or of the row where the cell is empty."""
        cell = self.raw.cells.get(heading)
        if heading == self.sort.name:
            cell = self.raw.name
        if cell is None:
            cell = RawCell("", self.raw.line, heading)
        problems.add(self.raw.file, cell.line, reason, column=cell.heading, value=cell.text)


Registry: TypeAlias = Mapping[str, Mapping[str, Row]]
"""sort -> name -> row."""


def read_rows(sources: Sequence[Source], problems: Problems) -> Iterator[Row]:
    """Every row of these files that has a name. What cannot be read becomes problems."""
    for source in sources:
        reader = read_yaml if PurePath(source.name).suffix.casefold() in _YAML else read_table
        yield from _read(reader(source, problems), problems)


def _read(raws: Iterable[RawRow], problems: Problems) -> Iterator[Row]:
    for raw in raws:
        before = len(problems)
        row = Row(raw.sort, _name(raw, problems), {}, None, raw)
        _fill(row, problems)
        row.sound = len(problems) == before
        if row.name:
            yield row


def _name(raw: RawRow, problems: Problems) -> str:
    if not raw.name.text:
        problems.add(raw.file, raw.name.line, f"empty: every {raw.sort.name} needs a name", column=raw.name.heading)
        return ""
    try:
        return str(raw.sort.read_id(raw.name.text))
    except CellError as error:
        problems.add(raw.file, raw.name.line, str(error), column=raw.name.heading, value=raw.name.text)
        return ""


def _fill(row: Row, problems: Problems) -> None:
    for column in row.sort.columns.values():
        cell = row.raw.cells.get(column.heading)
        if cell is None:
            if column.needed:
                row.blame(problems, column.heading, f"empty: every {row.sort.name} needs one")
            continue
        try:
            value = column.read(cell.text)
        except CellError as error:
            row.blame(problems, column.heading, str(error))
            continue
        if column.field == PLANTED:
            row.planted = value
        elif row.fields.setdefault(column.field, value) != value:
            row.blame(problems, column.heading, "contradicts another column of this row")
