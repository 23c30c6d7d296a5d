"""The history of a structure: the work done on it, what each survey found, and what was said and photographed."""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, and_, func, or_, select
from sqlmodel import col

from server.review.calendar import surveys_in
from server.review.coverage import Coverage, coverage_through
from server.review.entries import entries_named
from server.review.sighted import where_it_hung
from server.review.stock import Survival
from server.review.structures import Hung, structures_in
from server.store.engine import reading
from server.store.folding import load_finding
from server.store.models import FindingRow, StandingRow
from server.store.record import RecordStore
from shared_schema.envelope import BaseEntry
from shared_schema.errors import NothingSuch

__all__ = ["Logged", "StructureHistory", "SurveyOf", "list_structures", "read_structure"]

LOGGED = ("upkeep", "note", "photo")


@dataclass(frozen=True, slots=True)
class Logged:
    """Something that was done or said: `fact` is upkeep, note or photo, `body` the entry's own fields, `subject` what about."""

    fact: str
    subject: str
    survey: str
    entry: BaseEntry
    body: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class SurveyOf:
    """What a survey found here: status -> how many, and the words on its pages."""

    survey: str
    found: Mapping[str, int]
    coverage: Coverage

    @property
    def seen(self) -> int:
        """How many were looked at."""
        return sum(self.found.values())


@dataclass(frozen=True, slots=True)
class StructureHistory:
    """A structure, `surveys` and `log` newest first."""

    hung: Hung
    surveys: tuple[SurveyOf, ...]
    log: tuple[Logged, ...]

    def of(self, fact: str) -> list[Logged]:
        """The log of one sort."""
        return [one for one in self.log if one.fact == fact]


def list_structures(store: RecordStore) -> list[tuple[Hung, Survival]]:
    """Every structure with what became of those whose place is on it, in reading order."""
    sort, state = col(StandingRow.sort), col(StandingRow.state)
    with reading(store.engine) as connection:
        hung = structures_in(connection, store.nursery)
        # Asked without a condition on the sort, which is in the index that answers it, and takes another one.
        rows = connection.execute(
            select(col(StandingRow.structure), sort, state, func.count())
            .where(col(StandingRow.nursery) == store.nursery, col(StandingRow.structure).is_not(None))
            .group_by(col(StandingRow.structure), sort, state)
        )
        counts: dict[str, Counter[Any]] = {}
        for structure, what, became, many in rows:
            if what == "fragment":
                counts.setdefault(structure or "", Counter())[became] += many
    return [(one, counts.get(name, {})) for name, one in hung.items()]


def read_structure(store: RecordStore, structure: str) -> StructureHistory:
    """The history of a structure. Raises NothingSuch where nobody hung it and nobody spoke of it."""
    with reading(store.engine) as connection:
        hung = structures_in(connection, store.nursery, [structure])
        when = surveys_in(connection, store.nursery)
        surveys = _surveys(connection, store.nursery, when, hung[structure])
        log = _log(connection, store.nursery, structure, [*when, ""])
    spoken = tuple(one for one in surveys if one.found or one.coverage.words)
    if hung[structure].design is None and not spoken and not log:
        raise NothingSuch("there is no structure %(structure)r in the record: nobody hung it", structure=structure)
    return StructureHistory(hung[structure], spoken, log)


def _surveys(connection: Connection, nursery: int, when: Collection[str], hung: Hung) -> list[SurveyOf]:
    rows = connection.execute(
        select(col(FindingRow.survey), col(FindingRow.status), func.count())
        .where(
            col(FindingRow.nursery) == nursery,
            col(FindingRow.survey).in_(when),
            col(FindingRow.structure) == hung.structure,
            col(FindingRow.sort).in_(("fragment", "position")),
            col(FindingRow.status).is_not(None),
        )
        .group_by(col(FindingRow.survey), col(FindingRow.status))
    )
    found: dict[str, dict[str, int]] = {survey: {} for survey in when}
    for survey, status, many in rows:
        found[survey][status or ""] = many
    for survey, status in _astray(connection, nursery, when, hung.structure):
        found[survey][status] = found[survey].get(status, 0) + 1
    coverage = coverage_through(connection, nursery, when, hung)
    return [SurveyOf(survey, found[survey], coverage[survey]) for survey in when]


def _astray(connection: Connection, nursery: int, when: Collection[str], structure: str) -> Iterator[tuple[str, str]]:
    """Survey and status of what hung here by then and of which the survey does not say where: few surveys have any such."""
    silent = connection.execute(
        select(col(FindingRow.survey))
        .where(
            col(FindingRow.nursery) == nursery,
            col(FindingRow.survey).in_(when),
            col(FindingRow.structure).is_(None),
            col(FindingRow.place).is_(None),
            col(FindingRow.sort) == "fragment",
            col(FindingRow.status).is_not(None),
        )
        .distinct()
    )
    for survey in silent.scalars().all():
        there = where_it_hung(nursery, survey)
        here = select(there.c.status).where(there.c.structure == structure, there.c.status.is_not(None))
        for status in connection.execute(here).scalars():
            yield survey, status


def _log(connection: Connection, nursery: int, structure: str, surveys: list[str]) -> tuple[Logged, ...]:
    says = or_(*(col(FindingRow.slots).contains(f'"{fact}":[[', autoescape=True) for fact in LOGGED))
    columns = (col(FindingRow.survey), col(FindingRow.subject), col(FindingRow.slots))
    here = select(*columns).where(
        col(FindingRow.nursery) == nursery,
        col(FindingRow.survey).in_(surveys),
        col(FindingRow.structure) == structure,
        says,
    )
    # Work on a fragment whose survey says nothing of where it is belongs to where it hangs.
    hanging = (
        select(*columns)
        .join(
            StandingRow,
            and_(col(StandingRow.nursery) == nursery, col(StandingRow.subject) == col(FindingRow.subject)),
        )
        .where(
            col(FindingRow.nursery) == nursery,
            col(StandingRow.structure) == structure,
            col(StandingRow.sort) == "fragment",
            col(FindingRow.structure).is_(None),
            says,
        )
    )
    slots = []
    for survey, subject, text in [*connection.execute(here), *connection.execute(hanging)]:
        held = load_finding(survey, subject, text).slots
        for fact in LOGGED:
            if fact in held:
                slots += [
                    (fact, subject, survey, name, body) for name, body in zip(held[fact].heads, held[fact].value, strict=True)
                ]
    entries = entries_named(connection, nursery, [name for _, _, _, name, _ in slots])
    log = [Logged(fact, subject, survey, entries[name], body) for fact, subject, survey, name, body in slots if name in entries]
    return tuple(sorted(log, key=lambda one: (one.entry.observed, one.entry.id), reverse=True))
