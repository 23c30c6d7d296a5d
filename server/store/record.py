"""The server's record: takes entries in, gives out what others lack, and keeps the read tables folded.

A push locks the nursery, so that of two tablets that report on the same coral the second folds what the first brought.
"""

from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, NamedTuple

from sqlalchemy import Connection, Engine, Row, bindparam, select, update
from sqlmodel import col

from server.store.bulk import in_chunks, insert_rows
from server.store.engine import reading, writing
from server.store.folding import load_finding, load_standing, refold
from server.store.models import EntryRow, FindingRow, NurseryRow, StandingRow, WriterRow
from shared_schema.author import Author
from shared_schema.entries import entry_id_of, read_entry, write_entry
from shared_schema.envelope import BaseEntry
from shared_schema.errors import BadFrame, EntryNotUnderstood, IdentityClash, NothingSuch, SequenceGap
from shared_schema.fold import Finding, Standing
from shared_schema.ids import EntryId, Heads, is_office
from shared_schema.wire import SetAside

__all__ = ["Receipt", "RecordStore", "StoredEntry", "utc_now"]


def utc_now() -> datetime:
    """The server's clock."""
    return datetime.now(UTC)


@dataclass(frozen=True, slots=True)
class Receipt:
    """What became of a push: entries stored now, entries that were known already, and of the stored those set aside."""

    stored: int
    known: int
    set_aside: tuple[SetAside, ...] = ()


@dataclass(frozen=True, slots=True)
class StoredEntry:
    """An entry with what the server knows of its arrival. `entry` is None where it was set aside, with the reason.

    `received_ms`: milliseconds since 1970 UTC; `via`: the tablet that brought it; `clock_off_s`: how far that tablet's
    clock was ahead of the server's, whole seconds.
    """

    id: str
    entry: BaseEntry | None
    raw: bytes
    received_ms: int
    via: str
    clock_off_s: int
    set_aside: str | None


class _Arrived(NamedTuple):
    entry_id: EntryId
    line: bytes
    entry: BaseEntry | None
    why: EntryNotUnderstood | None


class RecordStore:
    """The record of one nursery in a database. `nursery` is the row id of the nursery."""

    def __init__(self, engine: Engine, nursery: int, clock: Callable[[], datetime] = utc_now) -> None:
        self.engine, self.nursery, self.clock = engine, nursery, clock

    def receive(self, lines: Sequence[bytes], via: str, received_ms: int | None = None, clock_off_s: int = 0) -> Receipt:
        """Store and fold entries that a tablet brought, its own or others'; all or nothing, known ones again are fine.

        Raises BadFrame (a line is no entry), SequenceGap, IdentityClash, StorageError.
        """
        arrived = [_open_line(number, line) for number, line in enumerate(lines, start=2)]
        with writing(self.engine) as connection:
            self.lock(connection)
            new = self._sift(connection, arrived)
            stamp = received_ms if received_ms is not None else self._now_ms()
            self._put(connection, new, via, stamp, clock_off_s)
        aside = tuple(SetAside(id=str(one.entry_id), reason=one.why.reason, detail=one.why.detail) for one in new if one.why)
        return Receipt(len(new), len(arrived) - len(new), aside)

    @contextmanager
    def office(self, by: str) -> Iterator[Author]:
        """An author who writes as the office. What is written is stored and folded at the end of the block, all or nothing."""
        with writing(self.engine) as connection:
            self.lock(connection)
            writer = connection.execute(select(col(NurseryRow.office)).where(col(NurseryRow.id) == self.nursery)).scalar_one()
            author = Author(writer, self.heads_in(connection).get(writer, 0), by, self.clock)
            yield author
            new = [_Arrived(entry.entry_id, write_entry(entry), entry, None) for entry in author.written]
            self._put(connection, new, writer, self._now_ms(), 0)

    def heads(self) -> Heads:
        """writer -> highest number held."""
        with reading(self.engine) as connection:
            return self.heads_in(connection)

    def lines_after(self, heads: Heads, limit: int, size: int = 4 * 1024 * 1024) -> tuple[list[bytes], bool]:
        """Lines beyond these heads, writer by writer in the order of their numbers, and whether there are more.

        At most `limit` of them, and no further line once they have `size` bytes.
        """
        lines: list[bytes] = []
        with reading(self.engine) as connection:
            for writer, head in sorted(self.heads_in(connection).items()):
                after = heads.get(writer, 0)
                if head <= after:
                    continue
                values = {"nursery": self.nursery, "writer": writer, "after": after, "limit": limit - len(lines)}
                for (raw,) in connection.execute(_AFTER, values):
                    lines.append(raw)
                    after += 1
                    size -= len(raw)
                    if size <= 0:
                        break
                if after < head:
                    return lines, True
        return lines, False

    def finding(self, survey: str, subject: str) -> Finding:
        """What a survey found of a subject; without slots where nobody said anything."""
        return self.findings(survey, [subject])[subject]

    def findings(self, survey: str, subjects: Collection[str]) -> dict[str, Finding]:
        """subject -> what a survey found of it; without slots where nobody said anything."""
        found = {subject: Finding(survey, subject, {}) for subject in subjects}
        with reading(self.engine) as connection:
            for some in in_chunks(sorted(found)):
                rows = connection.execute(
                    select(col(FindingRow.subject), col(FindingRow.slots)).where(
                        col(FindingRow.nursery) == self.nursery,
                        col(FindingRow.survey) == survey,
                        col(FindingRow.subject).in_(some),
                    )
                )
                found.update({subject: load_finding(survey, subject, slots) for subject, slots in rows})
        return found

    def standing(self, subject: str) -> Standing:
        """What is known of a subject now; without facts where it is unknown."""
        with reading(self.engine) as connection:
            found = connection.execute(
                select(col(StandingRow.facts)).where(col(StandingRow.nursery) == self.nursery, col(StandingRow.subject) == subject)
            ).scalar_one_or_none()
        return Standing(subject, {}) if found is None else load_standing(subject, found)

    def entries_of(self, survey: str, subject: str) -> list[StoredEntry]:
        """Every entry of a group, those set aside too, by writer and number."""
        return self.entries_of_several(survey, [subject])[subject]

    def entries_of_several(self, survey: str, subjects: Collection[str]) -> dict[str, list[StoredEntry]]:
        """subject -> every entry of its group in a survey, as entries_of gives them."""
        found: dict[str, list[StoredEntry]] = {subject: [] for subject in subjects}
        with reading(self.engine) as connection:
            for some in in_chunks(sorted(found)):
                rows = connection.execute(
                    select(EntryRow)
                    .where(
                        col(EntryRow.nursery) == self.nursery,
                        col(EntryRow.survey) == survey,
                        col(EntryRow.subject).in_(some),
                    )
                    .order_by(col(EntryRow.writer), col(EntryRow.number))
                )
                for row in rows:
                    found[row.subject].append(_stored(row))
        return found

    # within a transaction

    def lock(self, connection: Connection) -> None:
        """Keep other writers of this nursery waiting until the transaction ends. Raises NothingSuch."""
        locked = connection.execute(select(col(NurseryRow.id)).where(col(NurseryRow.id) == self.nursery).with_for_update())
        if locked.scalar_one_or_none() is None:
            raise NothingSuch(f"nursery {self.nursery} is not in this database")

    def heads_in(self, connection: Connection) -> Heads:
        """The heads as this transaction sees them."""
        rows = connection.execute(select(col(WriterRow.writer), col(WriterRow.head)).where(col(WriterRow.nursery) == self.nursery))
        return {writer: head for writer, head in rows if head > 0}

    def _sift(self, connection: Connection, arrived: Sequence[_Arrived]) -> list[_Arrived]:
        """Those that are new, their numbers going on where the record ends. Raises SequenceGap, IdentityClash."""
        heads = self.heads_in(connection)
        new: list[_Arrived] = []
        again: list[_Arrived] = []
        for one in arrived:
            writer, number = one.entry_id
            expected = heads.get(writer, 0) + 1
            if number > expected:
                raise SequenceGap(writer, expected, number)
            if number == expected:
                heads[writer] = number
                new.append(one)
            else:
                again.append(one)
        if again:
            self._compare(connection, again, {one.entry_id: one.line for one in new})
        return new

    def _compare(self, connection: Connection, again: Sequence[_Arrived], fresh: dict[EntryId, bytes]) -> None:
        by_writer: dict[str, list[int]] = {}
        for one in again:
            by_writer.setdefault(one.entry_id.writer, []).append(one.entry_id.number)
        held = dict(fresh)
        for writer, numbers in by_writer.items():
            for some in in_chunks(numbers):
                rows = connection.execute(_LINES, {"nursery": self.nursery, "writer": writer, "numbers": some})
                held.update({EntryId(writer, number): raw for number, raw in rows})
        for one in again:
            if held[one.entry_id] != one.line:
                raise IdentityClash(str(one.entry_id))

    def _put(self, connection: Connection, new: Sequence[_Arrived], via: str, received_ms: int, clock_off_s: int) -> None:
        if not new:
            return
        rows: list[tuple[Any, ...]] = []
        groups: dict[tuple[str, str], list[BaseEntry]] = {}
        heads: Heads = {}
        for one in new:
            writer, number = one.entry_id
            survey, subject = one.entry.group if one.entry is not None else ("", "")
            aside = None if one.why is None else f"{one.why.reason}: {one.why.detail}"
            rows.append((self.nursery, writer, number, survey, subject, one.line, received_ms, via, clock_off_s, aside))
            heads[writer] = number
            if one.entry is not None:
                groups.setdefault(one.entry.group, []).append(one.entry)
        refold(connection, self.nursery, groups)
        insert_rows(connection, EntryRow, rows)
        self._raise_heads(connection, heads)

    def _raise_heads(self, connection: Connection, heads: Heads) -> None:
        for writer, head in heads.items():
            changed = connection.execute(
                update(WriterRow).where(col(WriterRow.nursery) == self.nursery, col(WriterRow.writer) == writer).values(head=head)
            )
            if changed.rowcount == 0:
                sort = "office" if is_office(writer) else "relayed"
                connection.execute(
                    WriterRow.__table__.insert().values(nursery=self.nursery, writer=writer, sort=sort, head=head)  # type: ignore[attr-defined]
                )

    def _now_ms(self) -> int:
        return int(self.clock().timestamp() * 1000)


_AFTER = (
    select(col(EntryRow.raw))
    .where(
        col(EntryRow.nursery) == bindparam("nursery"),
        col(EntryRow.writer) == bindparam("writer"),
        col(EntryRow.number) > bindparam("after"),
    )
    .order_by(col(EntryRow.number))
    .limit(bindparam("limit"))
)
_LINES = select(col(EntryRow.number), col(EntryRow.raw)).where(
    col(EntryRow.nursery) == bindparam("nursery"),
    col(EntryRow.writer) == bindparam("writer"),
    col(EntryRow.number).in_(bindparam("numbers", expanding=True)),
)


def _open_line(number: int, line: bytes) -> _Arrived:
    try:
        entry = read_entry(line)
    except EntryNotUnderstood as why:
        return _Arrived(entry_id_of(line), line, None, why)
    except BadFrame as error:
        raise BadFrame(str(error), number) from error
    return _Arrived(entry.entry_id, line, entry, None)


def _stored(row: Row[Any]) -> StoredEntry:
    return StoredEntry(
        id=str(EntryId(row.writer, row.number)),
        entry=None if row.set_aside else read_entry(row.raw),
        raw=row.raw,
        received_ms=row.received,
        via=row.via,
        clock_off_s=row.clock_off_s,
        set_aside=row.set_aside,
    )
