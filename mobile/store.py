"""The tablet's store: every entry as its raw line in one SQLite file, folded on the way out by the shared fold.

There are no second tables to fall out of step: what is shown is always the fold of the lines that are on disk.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import groupby
from pathlib import Path
from types import TracebackType
from typing import NamedTuple, Self

from mobile.catalogue import Catalogue
from mobile.chart import Hung, StructureChart, draw_chart
from mobile.database import Database
from mobile.identity import Identities
from mobile.notices import Notices
from mobile.photos import PhotoShelf
from mobile.row import Row, read_line, row_of_entry, row_of_line, rows_by_id
from mobile.settings import Settings
from mobile.undo import UndoLog
from shared_schema.entries import KINDS, VERSION, BaseEntry, Entry, read_entry
from shared_schema.errors import EntryNotUnderstood, IdentityClash, SequenceGap
from shared_schema.fold import Finding, Standing, fold_group, stand
from shared_schema.ids import EntryId, Heads, split_subject
from shared_schema.wire import SetAside

__all__ = ["Added", "Store"]

_UNDERSTOOD = f"{VERSION}:{','.join(sorted(KINDS))}"


class Added(NamedTuple):
    """How many entries were new, and how many were there already, byte for byte the same."""

    stored: int
    known: int


class Store:
    """Everything that a tablet keeps. It belongs to the thread that made it; other threads open the same file again.

    `catalogue` lists structures, surveys and people; `identities`, `settings`, `notices` and `undo` are no part of the
    record. `check` reads the whole file first and refuses a damaged one; without it the file opens at once.
    """

    def __init__(self, path: Path | str, *, check: bool = True) -> None:
        self.path = Path(path)
        self.database = Database(self.path, check=check)
        self.identities = Identities(self.database)
        self.settings = Settings(self.database)
        self.notices = Notices(self.database)
        self.undo = UndoLog(self.database)
        self.photos = PhotoShelf(self.database)
        self.catalogue = Catalogue(self.standings)
        self._file_again()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        """Let the file go."""
        self.database.close()

    # Writing

    def write_own(self, entries: Sequence[BaseEntry]) -> None:
        """Keep the tablet's own new entries, numbered on from the last; on disk when this returns.

        Raises SequenceGap where their numbers do not go on from the last, StorageError where the disk is full.
        """
        with self.database.writing():
            writer = self.identities.own.writer
            for number, entry in enumerate(entries, start=self.last(writer) + 1):
                if entry.entry_id != (writer, number):
                    raise SequenceGap(writer, number, entry.entry_id.number)
            self._insert([row_of_entry(entry) for entry in entries])

    def add(self, lines: Iterable[bytes]) -> Added:
        """Add entries of anybody by set union; heads stay as they are.

        Raises BadFrame for a line without an id, IdentityClash where an id is known with other bytes: nothing is kept.
        """
        return self._add(rows_by_id(lines))

    def take(self, lines: Iterable[bytes]) -> Added:
        """Add entries that go on from the heads, and raise the heads to them.

        Raises SequenceGap where numbers are left out, IdentityClash where an entry of the tablet's own writer comes
        that this tablet never wrote: then it has a twin, or was restored from a copy.
        """
        rows = rows_by_id(lines)
        current = self.identities.current
        own = current.writer if current else ""
        with self.database.writing():
            heads = self.heads()
            for writer, number in sorted(rows):
                head = heads.get(writer, 0)
                if number > head and writer == own:
                    raise IdentityClash(str(EntryId(writer, number)))
                if number > head + 1:
                    raise SequenceGap(writer, head + 1, number)
                heads[writer] = max(head, number)
            added = self._add(rows)
            self.raise_heads(heads)
        return added

    def raise_heads(self, heads: Heads) -> None:
        """Whoever wrote: all of theirs that matters here, up to these numbers, is held. Heads never sink by this."""
        own = {identity.writer for identity in self.identities.all[-1:]}
        self.database.run_many(
            "INSERT INTO head (writer, number) VALUES (?, ?)"
            " ON CONFLICT (writer) DO UPDATE SET number = max(number, excluded.number)",
            [(writer, number) for writer, number in heads.items() if writer not in own],
        )

    def set_head(self, writer: str, number: int) -> None:
        """Of this writer all is held up to this number and nothing beyond it, whatever was said before."""
        self.database.run("INSERT OR REPLACE INTO head (writer, number) VALUES (?, ?)", (writer, number))

    # Reading

    def heads(self) -> Heads:
        """writer -> the number up to which all that matters here is held; for the tablet itself, its last number."""
        heads: Heads = dict(self.database.rows("SELECT writer, number FROM head"))
        current = self.identities.current
        if current is not None:
            heads[current.writer] = self.last(current.writer)
        return {writer: number for writer, number in heads.items() if number}

    def last(self, writer: str) -> int:
        """The highest number held of a writer, 0 for none."""
        number: int = self.database.rows("SELECT coalesce(max(number), 0) FROM entry WHERE writer = ?", (writer,))[0][0]
        return number

    def line(self, entry_id: EntryId) -> bytes | None:
        """The raw line of an entry, None where it is not here."""
        rows = self.database.rows("SELECT raw FROM entry WHERE writer = ? AND number = ?", entry_id)
        return rows[0][0] if rows else None

    def entries_of(self, survey: str, subject: str) -> tuple[Entry, ...]:
        """The entries of one group, by writer and number; those that cannot be understood are left out."""
        return tuple(entry for entry in map(read_line, self._group(survey, subject)) if entry is not None)

    def finding(self, survey: str, subject: str) -> Finding | None:
        """What one survey found of one subject, None where it says nothing."""
        lines = self._group(survey, subject)
        return _fold(lines) if lines else None

    def findings_of(self, subject: str) -> tuple[Finding, ...]:
        """What each survey found of a subject, first survey first."""
        return self._findings("subject = ?", subject).get(subject, ())

    def standing(self, subject: str) -> Standing:
        """What is known of a subject now; without facts where nobody spoke of it."""
        return stand(subject, self.findings_of(subject))

    def standings(self, sort: str) -> dict[str, Standing]:
        """name -> standing of all subjects of a sort, by name."""
        several = self._findings("subject >= ? AND subject < ?", f"{sort}:", f"{sort};")
        return {subject.partition(":")[2]: stand(subject, findings) for subject, findings in several.items()}

    def logged(self, survey: str, subject: str, fact: str) -> tuple[Entry, ...]:
        """The entries that count for a log fact (upkeep, coverage, note, photo ...), with who said so and when."""
        finding = self.finding(survey, subject)
        slot = None if finding is None else finding.slots.get(fact)
        heads = () if slot is None else slot.heads
        return tuple(entry for entry in self.entries_of(survey, subject) if entry.id in heads)

    def fragment(self, name: str) -> Hung:
        """A fragment wherever it is; without findings where nobody spoke of it."""
        findings = self.findings_of(f"fragment:{name}")
        return Hung(name, stand(f"fragment:{name}", findings), findings)

    def at(self, place: str) -> tuple[Hung, ...]:
        """The fragments whose place is this address now: none, one, or several where the record does not add up."""
        came = self.database.rows("SELECT DISTINCT subject FROM entry WHERE place = ? ORDER BY subject", (place,))
        several = (self.fragment(split_subject(row[0])[1]) for row in came if row[0].startswith("fragment:"))
        return tuple(hung for hung in several if hung.place == place)

    def on_structure(self, structure: str) -> StructureChart:
        """A structure with all that hangs there now."""
        # A fragment may have come from, or gone to, somewhere else: only the fold of all its entries tells where it is.
        came = "subject IN (SELECT subject FROM entry WHERE place >= ? AND place < ?)"
        return draw_chart(structure, self._findings(came, f"{structure}/", f"{structure}0"))  # 0 comes after /

    def every_line(self) -> Iterator[bytes]:
        """All raw lines, in the order of their bytes: the same for all who hold the same entries."""
        return (row[0] for row in self.database.each("SELECT raw FROM entry ORDER BY raw"))

    def every_finding(self) -> Iterator[Finding]:
        """All findings, by subject and survey."""
        for row in self.database.rows("SELECT DISTINCT subject FROM entry WHERE subject <> '' ORDER BY subject"):
            yield from self.findings_of(row[0])

    def set_aside(self) -> tuple[SetAside, ...]:
        """The entries that fold to nothing because this program can make nothing of them, and why."""
        found = []
        for writer, number, raw in self.database.rows(
            "SELECT writer, number, raw FROM entry WHERE subject = '' ORDER BY writer, number"
        ):
            try:
                read_entry(raw)
            except EntryNotUnderstood as error:
                found.append(SetAside(id=str(EntryId(writer, number)), reason=error.reason, detail=error.detail))
        return tuple(found)

    # Inside

    def _group(self, survey: str, subject: str) -> tuple[bytes, ...]:
        rows = self.database.rows(
            "SELECT raw FROM entry WHERE subject = ? AND survey = ? ORDER BY writer, number", (subject, survey)
        )
        return tuple(row[0] for row in rows)

    def _findings(self, where: str, *values: str) -> dict[str, tuple[Finding, ...]]:
        rows = self.database.rows(
            f"SELECT subject, survey, raw FROM entry WHERE {where} ORDER BY subject, survey, writer, number",  # noqa: S608
            values,
        )
        found: dict[str, list[Finding]] = {}
        for (subject, _), group in groupby(rows, key=lambda row: (row[0], row[1])):
            finding = _fold(tuple(row[2] for row in group))
            if finding is not None:
                found.setdefault(subject, []).append(finding)
        return {subject: tuple(findings) for subject, findings in found.items()}

    def _add(self, rows: Mapping[tuple[str, int], Row]) -> Added:
        with self.database.writing():
            known = self._known(rows)
            for key, raw in known.items():
                if raw != rows[key].raw:
                    raise IdentityClash(str(EntryId(*key)))
            self._insert([row for key, row in rows.items() if key not in known])
        return Added(len(rows) - len(known), len(known))

    def _known(self, rows: Iterable[tuple[str, int]]) -> dict[tuple[str, int], bytes]:
        """Those of the ids that are here already, with their bytes."""
        numbers: dict[str, set[int]] = {}
        for writer, number in rows:
            numbers.setdefault(writer, set()).add(number)
        return {
            (writer, number): raw
            for writer, several in numbers.items()
            for number, raw in self.database.each(
                "SELECT number, raw FROM entry WHERE writer = ? AND number BETWEEN ? AND ?",
                (writer, min(several), max(several)),
            )
            if number in several
        }

    def _insert(self, rows: list[Row]) -> None:
        self.database.run_many("INSERT INTO entry (writer, number, survey, subject, place, raw) VALUES (?, ?, ?, ?, ?, ?)", [*rows])

    def _file_again(self) -> None:
        """After an update of the program: what it could not understand before, it may understand now."""
        if self.settings.get("understood") == _UNDERSTOOD:
            return
        with self.database.writing():
            for (raw,) in self.database.rows("SELECT raw FROM entry WHERE subject = ''"):
                row = row_of_line(raw)
                self.database.run(
                    "UPDATE entry SET survey = ?, subject = ?, place = ? WHERE writer = ? AND number = ?",
                    (row.survey, row.subject, row.place, row.writer, row.number),
                )
            self.settings.put(understood=_UNDERSTOOD)


@lru_cache(maxsize=8192)
def _fold(lines: tuple[bytes, ...]) -> Finding | None:
    """The finding of a group's lines: a pure function of them, so remembering it can never show something stale."""
    entries = [entry for entry in map(_entry, lines) if entry is not None]
    return fold_group(entries) if entries else None


@lru_cache(maxsize=2048)
def _entry(line: bytes) -> Entry | None:
    """A tap adds one line to its group: the others need not be read again."""
    return read_line(line)
