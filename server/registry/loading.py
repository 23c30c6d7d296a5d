"""Loading a nursery file: everything is read and held against the record first, then stored whole or not at all."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final, Literal, TypeAlias

from pydantic import ValidationError

from server.registry.checks import check_rows, index_rows
from server.registry.known import Known, read_known
from server.registry.problems import Problems
from server.registry.rows import Registry, Row, read_rows
from server.registry.sources import Source
from server.store.record import RecordStore
from shared_schema.author import Author
from shared_schema.designs import parse_design
from shared_schema.facts import value_key
from shared_schema.fold import Finding
from shared_schema.ids import OFFICE

__all__ = ["LoadReport", "Stage", "check_files", "load_files"]

Outcome: TypeAlias = Literal["new", "changed", "unchanged"]
Stage: TypeAlias = Literal["reading", "checking", "comparing", "writing", "storing"]
Progress: TypeAlias = Callable[[Stage, int, int], None]
"""Told of the stage, how many rows are done, and of how many (0 where nobody can know)."""

_ORDER: Final = ("person", "genet", "structure", "survey", "fragment")
_EVERY: Final = 1_000


def _silent(_stage: Stage, _done: int, _of: int) -> None:
    pass


@dataclass(frozen=True, slots=True)
class LoadReport:
    """How many rows of each sort were new, changed or there already."""

    counts: Mapping[str, Mapping[Outcome, int]] = field(default_factory=dict)

    def total(self, outcome: Outcome) -> int:
        """Of all sorts together."""
        return sum(by_outcome.get(outcome, 0) for by_outcome in self.counts.values())


@dataclass(frozen=True, slots=True)
class _Change:
    row: Row
    fields: Mapping[str, Any]
    replaces: tuple[str, ...]


def check_files(store: RecordStore, sources: Sequence[Source], by: str, progress: Progress = _silent) -> LoadReport:
    """What `load_files` would do, without doing it. Raises what it would raise."""
    rows = _read(sources, progress)
    rehearsal = Author(f"{OFFICE}0000", 0, by, store.clock)
    return _write(rows, store, rehearsal, progress)


def load_files(store: RecordStore, sources: Sequence[Source], by: str, progress: Progress = _silent) -> LoadReport:
    """Load files together as standing facts, written by the office on behalf of the person `by`, in one transaction.

    A row that says what the record says is left alone; one that says something else is written as a new entry that
    replaces what stood there. An empty cell says nothing. Raises FileRefused with every problem, StorageError.
    """
    rows = _read(sources, progress)
    with store.office(by) as author:
        report = _write(rows, store, author, progress)
        progress("storing", 0, 0)
    return report


def _read(sources: Sequence[Source], progress: Progress) -> tuple[Registry, Problems]:
    problems = Problems()
    found: list[Row] = []
    for row in read_rows(sources, problems):
        found.append(row)
        if len(found) % _EVERY == 0:
            progress("reading", len(found), 0)
    if not found and not len(problems):
        problems.add(sources[0].name if sources else "", 0, "there are no rows: write at least one below the headings")
    return index_rows(found, problems), problems


def _write(read: tuple[Registry, Problems], store: RecordStore, author: Author, progress: Progress) -> LoadReport:
    """Both the rehearsal and the load: they differ in the author alone."""
    # While the office writes, the nursery is locked: what is checked here is still so when it is stored.
    rows, problems = read
    progress("checking", 0, 0)
    known = read_known(store, [row.subject for by_name in rows.values() for row in by_name.values()])
    check_rows(rows, known, problems)
    problems.stop()
    counts: dict[str, Counter[Outcome]] = {sort: Counter() for sort in _ORDER}
    changes: list[_Change] = []
    for sort in _ORDER:
        for row in rows[sort].values():
            change = _compare(row, rows, known, problems)
            outcome: Outcome = "unchanged" if change is None else "changed" if change.replaces else "new"
            counts[sort][outcome] += 1
            if change is not None:
                changes.append(change)
    problems.stop()
    for done, change in enumerate(changes):
        if done % _EVERY == 0:
            progress("writing", done, len(changes))
        _write_one(change, author, problems)
    problems.stop()
    return LoadReport(counts)


def _compare(row: Row, rows: Registry, known: Known, problems: Problems) -> _Change | None:
    """What to write of a row, None where the record says the same."""
    fields = dict(row.fields)
    if row.sort.name == "fragment" and "genet" not in fields:
        fields["genet"] = _genet_of(row, rows, known)
    if row.planted is not None:
        fields["observed"] = datetime.fromisoformat(f"{row.planted}T12:00:00+00:00")
    kind = row.sort.kind
    stated = known.stated.get(row.subject)
    heads = {head for name in kind.STATES for head in _heads(name, stated)}
    if stated is None or not heads:
        if "name" in kind.model_fields and kind.model_fields["name"].is_required():
            fields.setdefault("name", row.name)
        return _Change(row, fields, ())
    differs = [name for name, value in row.fields.items() if not _same(name, value, stated)]
    for name in differs:
        if name in stated.open:
            reason = "the record's own entries disagree about this: settle it in the office first"
            row.blame(problems, _heading(row, name), reason)
    replanted = row.planted is not None and known.planted.get(row.subject) != row.planted
    if not differs and not replanted:
        return None
    for name in kind.STATES:
        # What an entry of this kind always states must not fall back to a default that the record has left.
        if kind.model_fields[name].is_required() or kind.model_fields[name].default is not None:
            fields.setdefault(name, stated.value(name))
    return _Change(row, fields, tuple(sorted(heads)))


def _heads(fact: str, stated: Finding | None) -> tuple[str, ...]:
    return stated.slots[fact].heads if stated is not None and fact in stated.slots else ()


def _same(fact: str, value: Any, stated: Finding) -> bool:
    held = stated.value(fact)
    if held is None:
        return False
    if fact == "design":
        return parse_design(value) == parse_design(held)
    return value_key(value) == value_key(held)


def _genet_of(row: Row, rows: Registry, known: Known) -> str | None:
    """The genet that a cutting has from its mother, or her mother, as far up as it takes."""
    seen: set[str] = set()
    name: str | None = row.name
    while name is not None and name not in seen:
        seen.add(name)
        above, held = rows["fragment"].get(name), known.fragments.get(name)
        genet: str | None = above.fields.get("genet") if above is not None else None
        genet = genet or (held.genet if held is not None else None)
        if genet is not None:
            return genet
        name = (above.fields.get("parent") if above is not None else None) or (held.parent if held is not None else None)
    return None


def _heading(row: Row, fact: str) -> str:
    found = [column.heading for column in row.sort.columns.values() if column.field == fact]
    return next((heading for heading in found if heading in row.raw.cells), found[0])


def _write_one(change: _Change, author: Author, problems: Problems) -> None:
    row = change.row
    stated = {name: value for name, value in change.fields.items() if value is not None}
    try:
        author.write(row.sort.kind, row.subject, replaces=change.replaces, **stated)
    except ValidationError as error:
        for each in error.errors(include_url=False):
            fact = str(each["loc"][0]) if each["loc"] else ""
            heading = _heading(row, fact) if fact in row.sort.kind.STATES else row.sort.name
            row.blame(problems, heading, each["msg"])
