"""A survey on one page: its stock, conditions, coverage, open questions, people and days."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from itertools import islice
from typing import Final

from sqlalchemy import Connection, select
from sqlmodel import col

from server.review.coverage import Coverage, coverage_in
from server.review.entries import entries_named
from server.review.flows import Column
from server.review.questions import Key, list_questions
from server.review.stock_book import Stock, StockBook, stock_book
from server.review.structures import Hung
from server.review.wholes import Summary, plan_of, read_whole
from server.store.engine import reading
from server.store.folding import load_finding, load_standing
from server.store.models import FindingRow, StandingRow
from server.store.record import RecordStore
from shared_schema.ids import split_subject

__all__ = ["Digest", "Team", "list_stock", "list_stock_of_species", "read_digest"]

_HELD: Final = ("opening", "closing")


@dataclass(frozen=True, slots=True)
class Team:
    """Who was there: person -> number of dives, or of pages signed off where no dive was logged; `days` as YYYY-MM-DD."""

    people: Mapping[str, int]
    dives: int
    days: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Digest:
    """A survey on one page. `species` by genet; `coverage` by structure; questions in reading order."""

    summary: Summary
    stock: Stock
    species: Mapping[str, str]
    coverage: Mapping[str, Coverage]
    questions: tuple[Key, ...]
    team: Team


def read_digest(store: RecordStore, survey: str) -> Digest:
    """The digest of a survey. Raises NothingSuch."""
    questions = tuple(list_questions(store, survey))
    with reading(store.engine) as connection:
        whole = read_whole(store, connection, survey)
        with stock_book(store, connection) as book:
            stock = book.stock_of(survey)
        return Digest(
            summary=whole.summary,
            stock=stock,
            species=_species(connection, store.nursery),
            coverage=whole.coverage,
            questions=questions,
            team=_team(connection, store.nursery, survey, whole.hung),
        )


def list_stock(
    store: RecordStore, survey: str, column: Column, genet: str | None, every: bool, first: int = 0, limit: int | None = None
) -> tuple[list[tuple[str, str | None]], int]:
    """(subject, genet) of the fragments behind a figure of the stock, by name; of one genet unless `every`.

    Of them `limit` from `first` (counted from 0), and how many there are. Raises NothingSuch for a survey that is not in
    the record.
    """
    with reading(store.engine) as connection:
        plan_of(connection, store.nursery, survey)
        with stock_book(store, connection) as book:
            return _list(book, survey, column, None if every else {genet}, first, limit)


def list_stock_of_species(
    store: RecordStore, survey: str, column: Column, species: str, first: int = 0, limit: int | None = None
) -> tuple[list[tuple[str, str | None]], int]:
    """The same of all genets of a species; "" is those of which it was not recorded."""
    with reading(store.engine) as connection:
        plan_of(connection, store.nursery, survey)
        known = _species(connection, store.nursery)
        with stock_book(store, connection) as book:
            lines = book.stock_of(survey).lines
            genets = {line.genet for line in lines if known.get(line.genet or "", "") == species}
            return _list(book, survey, column, genets, first, limit)


def _list(
    book: StockBook, survey: str, column: Column, genets: Collection[str | None] | None, first: int, limit: int | None
) -> tuple[list[tuple[str, str | None]], int]:
    """Of these genets, or of every."""
    if column in _HELD:
        names: Iterable[str] = book.held_in(survey, column == "opening", genets)
        lines = [line for line in book.stock_of(survey).lines if genets is None or line.genet in genets]
        total = sum(line.counts.get(column, 0) for line in lines)
    else:
        names = [name for name in book.flows_in(survey, column) if genets is None or book.genets.get(name) in genets]
        total = len(names)
    told = ((name, book.genets.get(name)) for name in names)
    end = total if limit is None else min(total, first + limit)
    return list(islice(told, first, max(first, end))), total


def _species(connection: Connection, nursery: int) -> dict[str, str]:
    rows = connection.execute(
        select(col(StandingRow.subject), col(StandingRow.facts)).where(
            col(StandingRow.nursery) == nursery, col(StandingRow.sort) == "genet"
        )
    )
    named = {split_subject(subject)[1]: load_standing(subject, facts).value("species") for subject, facts in rows}
    return {genet: species for genet, species in named.items() if species is not None}


def _team(connection: Connection, nursery: int, survey: str, hung: Mapping[str, Hung]) -> Team:
    rows = connection.execute(
        select(col(FindingRow.subject), col(FindingRow.slots)).where(
            col(FindingRow.nursery) == nursery,
            col(FindingRow.survey) == survey,
            col(FindingRow.subject) >= "visit:",
            col(FindingRow.subject) < "visit;",
        )
    )
    slots = [slot for subject, text in rows if (slot := load_finding(survey, subject, text).slots.get("dive")) is not None]
    people: Counter[str] = Counter()
    if slots:
        people.update(person for slot in slots for person in slot.value.get("people", ()))
        behind = entries_named(connection, nursery, [name for slot in slots for name in slot.heads])
    else:
        coverage = coverage_in(connection, nursery, survey, hung)
        words = [word.entry_id for one in coverage.values() for several in one.words.values() for word in several if word.counts]
        behind = entries_named(connection, nursery, words)
        people.update(entry.by for entry in behind.values())
    days = {entry.observed.date().isoformat() for entry in behind.values()}
    ordered = dict(sorted(people.items(), key=lambda each: (-each[1], each[0])))
    return Team(ordered, len(slots), tuple(sorted(days)))
