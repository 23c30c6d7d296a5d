"""Nursery files as spreadsheets write them: CSV with commas, semicolons or tabs."""

import csv
import difflib
import io
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from server.registry.columns import ID, RECORD, SORTS, Sort, plain_heading
from server.registry.problems import Problems
from server.registry.sources import RawCell, RawRow, Source, clean, decode, find_column, known_headings, sort_named

__all__ = ["read_table"]


@dataclass(frozen=True, slots=True)
class _Head:
    """The headings as written and as compared; `sort` is None where each row says what it is."""

    line: int
    written: list[str]
    plain: list[str]
    sort: Sort | None
    name_at: int

    def places(self, sort: Sort) -> list[tuple[int, str]]:
        """(place in the row, heading as documented or "" where the sort has no such column) for the sort's cells."""
        found = []
        for place, heading in enumerate(self.plain):
            if place != self.name_at and heading != RECORD and not self.written[place].startswith("#"):
                column = find_column(sort, heading)
                found.append((place, column.heading if column is not None else ""))
        return found


def read_table(source: Source, problems: Problems) -> Iterator[RawRow]:
    """The rows of a CSV file. Nothing comes of a file whose text or headings have problems."""
    text = decode(source, problems)
    if text is None:
        return
    lines = _lines(source, text, problems)
    head = _head(source, lines, problems)
    if head is None:
        return
    places = {sort.name: head.places(sort) for sort in SORTS.values()}
    for line, cells in lines:
        if len(cells) > len(head.written) and any(cells[len(head.written) :]):
            extra = " ".join(cells[len(head.written) :])
            problems.add(
                source.name, line, f"more cells than the {len(head.written)} headings", column="end of the line", value=extra
            )
            continue
        sort = _sort_of(source, head, line, cells, problems)
        if sort is not None:
            yield _row(source, head, sort, places[sort.name], line, cells, problems)


def _lines(source: Source, text: str, problems: Problems) -> Iterator[tuple[int, list[str]]]:
    """(line in which it starts, cells) of each row that is not empty."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text), strict=True)
    line = 1
    try:
        for cells in reader:
            cleaned = [clean(cell) for cell in cells]
            if any(cleaned):
                yield line, cleaned
            line = reader.line_num + 1
    except csv.Error as error:
        problems.add(source.name, line, f"no row of CSV from here on ({error}): is a quotation mark opened and not closed?")


def _delimiter(text: str) -> str:
    first = next((line for line in text.splitlines() if line.strip()), "")
    return max(",;\t", key=first.count)


def _head(source: Source, lines: Iterator[tuple[int, list[str]]], problems: Problems) -> _Head | None:
    line, written = next(lines, (1, []))
    plain = [plain_heading(heading) for heading in written]
    before = len(problems)
    sort, name_heading = None, ID
    if RECORD not in plain:
        sort = next((sort for sort in SORTS.values() if sort.name in plain), None)
        if sort is None:
            problems.add(
                source.name,
                line,
                f"no heading says what the rows are: name a column {' or '.join(SORTS)}, or give each row a {RECORD} and an {ID}",
            )
            return None
        name_heading = sort.name
    elif ID not in plain:
        problems.add(source.name, line, f"a file with a {RECORD} column needs an {ID} column, too")
        return None
    head = _Head(line, written, plain, sort, plain.index(name_heading))
    _check_headings(source, head, problems)
    return head if len(problems) == before else None


def _check_headings(source: Source, head: _Head, problems: Problems) -> None:
    sorts = list(SORTS.values()) if head.sort is None else [head.sort]
    counted = Counter(heading for heading, written in zip(head.plain, head.written, strict=True) if not written.startswith("#"))
    for place, (heading, written) in enumerate(zip(head.plain, head.written, strict=True)):
        if written.startswith("#") or place == head.name_at or heading == RECORD:
            continue
        if not heading:
            problems.add(source.name, head.line, f"column {place + 1} has no heading: name it, or begin it with # to leave it out")
        elif all(find_column(sort, heading) is None for sort in sorts):
            near = difflib.get_close_matches(heading, known_headings(), 1)
            hint = f"is it {near[0]}?" if near else "begin it with # to leave it out"
            problems.add(source.name, head.line, f"no such column here: {hint}", column="heading", value=written)
    for heading, count in counted.items():
        if count > 1 and heading:
            problems.add(source.name, head.line, f"{count} columns have this heading", column="heading", value=heading)
    if head.sort is not None:
        columns = [find_column(head.sort, heading) for heading in head.plain]
        present = {column.heading for column in columns if column is not None}
        for column in head.sort.columns.values():
            if column.needed and column.heading not in present:
                reason = f"this column is missing: {head.sort.several} need it"
                problems.add(source.name, head.line, reason, column="heading", value=column.heading)


def _sort_of(source: Source, head: _Head, line: int, cells: list[str], problems: Problems) -> Sort | None:
    if head.sort is not None:
        return head.sort
    place = head.plain.index(RECORD)
    word = cells[place] if place < len(cells) else ""
    sort = sort_named(word)
    if sort is None:
        problems.add(source.name, line, f"write {' or '.join(SORTS)}", column=head.written[place], value=word)
    return sort


def _row(
    source: Source, head: _Head, sort: Sort, places: list[tuple[int, str]], line: int, cells: list[str], problems: Problems
) -> RawRow:
    found: dict[str, RawCell] = {}
    for place, heading in places:
        text = cells[place] if place < len(cells) else ""
        if not text:
            continue
        if not heading:
            problems.add(source.name, line, f"a {sort.name} has none: empty this cell", column=head.written[place], value=text)
        elif heading in found:
            problems.add(source.name, line, "given twice in this row", column=head.written[place], value=text)
        else:
            found[heading] = RawCell(text, line, head.written[place])
    name = cells[head.name_at] if head.name_at < len(cells) else ""
    return RawRow(source.name, line, sort, RawCell(name, line, head.written[head.name_at]), found)
