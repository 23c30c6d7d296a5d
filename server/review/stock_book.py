"""The stock of every survey, kept in memory: built once, then brought up to date by what arrived since.

Building reads every turn of every fragment; bringing up to date only those of the fragments that new entries speak of. The
book depends on nothing but the entries that its heads name.
"""

from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from threading import Lock
from typing import Final, Self
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, select
from sqlmodel import col

from server.review.flows import GAINS, LOSSES, Column, Flow, flows_of
from server.review.turns import Line, read_lines, read_lines_of, state_by
from server.store.bulk import in_chunks
from server.store.models import EntryRow, StandingRow
from server.store.record import RecordStore
from shared_schema.ids import Heads

__all__ = ["Stock", "StockBook", "StockLine", "stock_book"]

MOST_NEW: Final = 10_000
"""With more new entries than this, building anew is the quicker way."""

Genet = str | None


@dataclass(frozen=True, slots=True)
class StockLine:
    """One genet's stock in a survey; `genet` None where it was not recorded.

    `held` counts those of the losses that were part of the opening stock.
    """

    genet: Genet
    counts: Mapping[Column, int]
    held: Mapping[Column, int]

    @property
    def balances(self) -> bool:
        """Whether nothing came from nowhere or went nowhere."""
        gained, lost = (sum(self.counts.get(column, 0) for column in several) for several in (GAINS, LOSSES))
        return self.counts.get("opening", 0) + gained == self.counts.get("closing", 0) + lost

    @property
    def survival(self) -> tuple[Fraction, Fraction] | None:
        """Of the opening stock, the share that neither died nor went missing; and without the missing, that did not die.

        The first counts missing as dead, the second leaves them out. None without any to speak of.
        """
        opening, died, missing = self.counts.get("opening", 0), self.held.get("died", 0), self.held.get("missing", 0)
        if opening in (0, missing):
            return None
        return Fraction(opening - died - missing, opening), Fraction(opening - missing - died, opening - missing)


@dataclass(frozen=True, slots=True)
class Stock:
    """The stock of a survey: a line for each genet in the order of names, and all of it in one."""

    lines: tuple[StockLine, ...]
    total: StockLine


class StockBook:
    """All flows of a record, by fragment."""

    def __init__(self) -> None:
        self.heads: Heads = {}
        self.lines: dict[str, Line] = {}
        self.genets: dict[str, Genet] = {}
        self.cut: set[str] = set()
        self._counts: defaultdict[str, Counter[tuple[Genet, Column, bool]]] = defaultdict(Counter)
        self._first: Counter[Genet] = Counter()
        self._quiet: Counter[Genet] = Counter()
        self._taking: defaultdict[tuple[str, Column], set[str]] = defaultdict(set)
        self._names: list[str] = []

    @classmethod
    def build(cls, connection: Connection, nursery: int, heads: Heads) -> Self:
        """Read everything."""
        book = cls()
        mine = (col(StandingRow.nursery) == nursery, col(StandingRow.sort) == "fragment")
        everybody = select(col(StandingRow.subject)).where(*mine)
        genets = select(col(StandingRow.subject), col(StandingRow.genet)).where(*mine, col(StandingRow.genet).is_not(None))
        book.genets = dict.fromkeys(connection.execute(everybody).scalars())
        book.genets.update((subject, genet) for subject, genet in connection.execute(genets))
        book._names = sorted(book.genets)
        parents = select(col(StandingRow.subject)).where(*mine, col(StandingRow.parent).is_not(None))
        book.cut = set(connection.execute(parents).scalars())
        book._enter(read_lines(connection, nursery))
        book._quiet.update(genet for subject, genet in book.genets.items() if subject not in book.lines)
        book._finish(heads)
        return book

    def brought_up_to_date(self, connection: Connection, nursery: int, heads: Heads) -> Self:
        """This book, after reading what new entries speak of; a new one where that is quicker."""
        if not self.heads or sum(heads.values()) - sum(self.heads.values()) > MOST_NEW:
            return self.build(connection, nursery, heads)
        touched: set[str] = set()
        for writer, head in heads.items():
            if head > (after := self.heads.get(writer, 0)):
                rows = connection.execute(
                    select(col(EntryRow.subject)).where(
                        col(EntryRow.nursery) == nursery, col(EntryRow.writer) == writer, col(EntryRow.number) > after
                    )
                )
                touched.update(subject for subject in rows.scalars() if subject.startswith("fragment:"))
        self._leave(touched)
        for some in in_chunks(sorted(touched)):
            rows_of = connection.execute(
                select(col(StandingRow.subject), col(StandingRow.genet), col(StandingRow.parent)).where(
                    col(StandingRow.nursery) == nursery, col(StandingRow.subject).in_(some)
                )
            )
            for subject, genet, parent in rows_of:
                self.genets[subject] = genet
                at = bisect_left(self._names, subject)
                if self._names[at : at + 1] != [subject]:
                    self._names.insert(at, subject)
                if parent is not None:
                    self.cut.add(subject)
        self._enter(read_lines_of(connection, nursery, touched))
        self._quiet.update(self.genets[subject] for subject in touched if subject in self.genets and subject not in self.lines)
        self._finish(heads)
        return self

    def stock_of(self, survey: str) -> Stock:
        """The stock of a survey."""
        opening = self._quiet + self._first
        for when, counts in self._counts.items():
            if when < survey:
                for (genet, column, _), many in counts.items():
                    opening[genet] += many * (column in GAINS) - many * (column in LOSSES)
        return _stock(opening, self._counts.get(survey, Counter()))

    def flows_in(self, survey: str, column: Column) -> list[str]:
        """The fragments that count in a column of a survey, by name."""
        return sorted(self._taking.get((survey, column), ()))

    def held_in(self, survey: str, before: bool, genets: Collection[Genet] | None = None) -> Iterator[str]:
        """Those, of all genets or of some, that were held by the end of a survey, or before it, by name.

        Who took no turn was in the nursery all along.
        """
        some = self._names if genets is None else [name for name in self._names if self.genets.get(name) in genets]
        for subject in some:
            line = self.lines.get(subject)
            if line is None or state_by(line, survey, before=before) == "held":
                yield subject

    def _enter(self, lines: Mapping[str, Line]) -> None:
        self.lines.update(lines)
        for subject, line in lines.items():
            self._count(subject, line, 1)

    def _leave(self, subjects: Iterable[str]) -> None:
        for subject in subjects:
            line = self.lines.pop(subject, None)
            if line is not None:
                self._count(subject, line, -1)
            elif subject in self.genets:
                self._quiet[self.genets[subject]] -= 1
            self.genets.pop(subject, None)
            self.cut.discard(subject)

    def _count(self, subject: str, line: Line, step: int) -> None:
        genet = self.genets.get(subject)
        first = line[0]
        if first.survey == "" and state_by(line, "") == "held":
            self._first[genet] += step
        flow: Flow
        for flow in flows_of(line, subject in self.cut):
            self._counts[flow.survey][genet, flow.column, flow.held] += step
            (set.add if step > 0 else set.discard)(self._taking[flow.survey, flow.column], subject)

    def _finish(self, heads: Heads) -> None:
        # A transaction that began earlier sees lower heads: the book goes forward only.
        self.heads = {writer: max(head, self.heads.get(writer, 0)) for writer, head in heads.items()}


def _stock(opening: Mapping[Genet, int], flows: Mapping[tuple[Genet, Column, bool], int]) -> Stock:
    counts: defaultdict[Genet, Counter[Column]] = defaultdict(Counter)
    held: defaultdict[Genet, Counter[Column]] = defaultdict(Counter)
    for genet, many in opening.items():
        counts[genet].update({"opening": many, "closing": many})
    for (genet, column, was_held), many in flows.items():
        counts[genet][column] += many
        counts[genet]["closing"] += many * (column in GAINS) - many * (column in LOSSES)
        if was_held:
            held[genet][column] += many
    names = sorted(counts, key=lambda name: (name is None, name or ""))
    lines = tuple(StockLine(name, counts[name], held[name]) for name in names if any(counts[name].values()))
    return Stock(lines, StockLine(None, sum(counts.values(), Counter()), sum(held.values(), Counter())))


class _Shelf:
    """Where the book of a record lies; whoever reads it holds the lock."""

    def __init__(self) -> None:
        self.lock, self.book = Lock(), StockBook()


_SHELVES: Final[WeakKeyDictionary[RecordStore, _Shelf]] = WeakKeyDictionary()
_DOOR: Final = Lock()


@contextmanager
def stock_book(store: RecordStore, connection: Connection) -> Iterator[StockBook]:
    """The book, as new as this transaction at least. Nobody else reads it meanwhile."""
    with _DOOR:
        shelf = _SHELVES.setdefault(store, _Shelf())
    with shelf.lock:
        heads = store.heads_in(connection)
        if any(head > shelf.book.heads.get(writer, 0) for writer, head in heads.items()):
            shelf.book = shelf.book.brought_up_to_date(connection, store.nursery, heads)
        yield shelf.book
