"""A survey on one page: its stock, conditions, coverage, open questions, people and days."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select
from sqlmodel import col

from server.review.coverage import Coverage
from server.review.entries import entries_named
from server.review.flows import Column, Flow, Stock, flows_in, stock_in
from server.review.memory import remember
from server.review.questions import Key, list_questions
from server.review.surveys import Summary, plan_of, read_whole
from server.review.turns import Turns, read_turns, state_by
from server.store.bulk import in_chunks
from server.store.engine import reading
from server.store.folding import load_finding, load_standing
from server.store.models import FindingRow, StandingRow
from server.store.record import RecordStore
from shared_schema.ids import split_subject

__all__ = ["Digest", "Team", "list_stock", "read_digest"]


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
    moved: int
    species: Mapping[str, str]
    coverage: Mapping[str, Coverage]
    questions: tuple[Key, ...]
    team: Team


def read_digest(store: RecordStore, survey: str) -> Digest:
    """The digest of a survey. Raises NothingSuch."""
    questions = tuple(list_questions(store, survey))
    with reading(store.engine) as connection:
        whole = read_whole(connection, store.nursery, survey)
        turns = _turns(store, connection)
        flows = _flows(connection, store.nursery, turns, survey)
        return Digest(
            summary=whole.summary,
            stock=stock_in(turns, flows, survey),
            moved=sum(flow.column == "moved" for flow in flows),
            species=_species(connection, store.nursery),
            coverage=whole.coverage,
            questions=questions,
            team=_team(connection, store.nursery, survey, whole.coverage),
        )


def list_stock(store: RecordStore, survey: str, column: Column, genet: str | None, every: bool) -> list[tuple[str, str | None]]:
    """(subject, genet) of the fragments behind a figure of the stock, by name; of one genet unless `every`.

    Raises NothingSuch for a survey that is not in the record.
    """
    with reading(store.engine) as connection:
        plan_of(connection, store.nursery, survey)
        turns = _turns(store, connection)
        if column in ("opening", "closing"):
            subjects = _held(connection, store.nursery, turns, survey, column == "opening")
        else:
            subjects = [flow.subject for flow in _flows(connection, store.nursery, turns, survey) if flow.column == column]
    found = [(subject, turns.genets.get(subject)) for subject in subjects]
    return sorted(one for one in found if every or one[1] == genet)


def _turns(store: RecordStore, connection: Connection) -> Turns:
    return remember(store, connection, "turns", lambda: read_turns(connection, store.nursery))


def _flows(connection: Connection, nursery: int, turns: Turns, survey: str) -> list[Flow]:
    new = [subject for subject, line in turns.lines.items() if line[0].survey == survey]
    parents: dict[str, str | None] = {}
    for some in in_chunks(new):
        rows = connection.execute(
            select(col(StandingRow.subject), col(StandingRow.parent)).where(
                col(StandingRow.nursery) == nursery, col(StandingRow.subject).in_(some)
            )
        )
        parents.update((subject, parent) for subject, parent in rows)
    return list(flows_in(turns, parents, survey))


def _held(connection: Connection, nursery: int, turns: Turns, survey: str, before: bool) -> list[str]:
    held = [subject for subject, line in turns.lines.items() if state_by(line, survey, before=before) == "held"]
    rows = connection.execute(
        select(col(StandingRow.subject)).where(col(StandingRow.nursery) == nursery, col(StandingRow.sort) == "fragment")
    )
    return held + [subject for (subject,) in rows if subject not in turns.lines]


def _species(connection: Connection, nursery: int) -> dict[str, str]:
    rows = connection.execute(
        select(col(StandingRow.subject), col(StandingRow.facts)).where(
            col(StandingRow.nursery) == nursery, col(StandingRow.sort) == "genet"
        )
    )
    named = {split_subject(subject)[1]: load_standing(subject, facts).value("species") for subject, facts in rows}
    return {genet: species for genet, species in named.items() if species is not None}


def _team(connection: Connection, nursery: int, survey: str, coverage: Mapping[str, Coverage]) -> Team:
    rows = connection.execute(
        select(col(FindingRow.subject), col(FindingRow.slots)).where(
            col(FindingRow.nursery) == nursery,
            col(FindingRow.survey) == survey,
            col(FindingRow.subject).between("visit:", "visit;"),
        )
    )
    dives: list[Mapping[str, Any]] = [
        log for subject, slots in rows if (log := load_finding(survey, subject, slots).value("dive")) is not None
    ]
    people: dict[str, int] = {}
    if dives:
        for person in (person for log in dives for person in log.get("people", ())):
            people[person] = people.get(person, 0) + 1
        days = {log["went_in"][:10] for log in dives if "went_in" in log}
    else:
        words = [word.entry_id for one in coverage.values() for several in one.words.values() for word in several if word.counts]
        signed = entries_named(connection, nursery, words).values()
        for entry in signed:
            people[entry.by] = people.get(entry.by, 0) + 1
        days = {entry.observed.date().isoformat() for entry in signed}
    return Team(dict(sorted(people.items(), key=lambda each: (-each[1], each[0]))), len(dives), tuple(sorted(days)))
