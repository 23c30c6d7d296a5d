"""One structure in a survey, with all that a person wants to see of each position."""

from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy import Connection, select
from sqlmodel import col

from server.review.calendar import Plan, plans_in
from server.review.coverage import Coverage, coverage_in
from server.review.entries import entries_named
from server.review.maps import Sighting, StructureMap, maps_in
from server.review.structures import natural, structures_in
from server.store.bulk import in_chunks
from server.store.engine import reading
from server.store.folding import load_finding
from server.store.models import FindingRow
from server.store.record import RecordStore
from shared_schema.envelope import BaseEntry
from shared_schema.errors import NothingSuch
from shared_schema.fold import Finding

__all__ = ["Row", "StructureChart", "read_chart"]


@dataclass(frozen=True, slots=True)
class Row:
    """What a survey says of one sighting; `finding` is None where it says nothing."""

    sighting: Sighting
    finding: Finding | None


@dataclass(frozen=True, slots=True)
class StructureChart:
    """A structure in a survey; `rows` in reading order; `signers` are the entries behind the words on its pages, by id."""

    plan: Plan
    map: StructureMap
    coverage: Coverage
    rows: tuple[Row, ...]
    signers: Mapping[str, BaseEntry]


def read_chart(store: RecordStore, survey: str, structure: str) -> StructureChart:
    """The chart of a structure in a survey. Raises NothingSuch."""
    with reading(store.engine) as connection:
        plan = plans_in(connection, store.nursery).get(survey)
        if plan is None:
            raise NothingSuch("there is no survey %(survey)r in the record", survey=survey)
        hung = structures_in(connection, store.nursery, [structure])
        found = maps_in(connection, store.nursery, survey, hung)[structure]
        coverage = coverage_in(connection, store.nursery, survey, hung)[structure]
        if hung[structure].design is None and not found.sightings and not coverage.words:
            raise NothingSuch("there is no structure %(structure)r in the record: nobody hung it", structure=structure)
        findings = _findings(connection, store.nursery, survey, [one.subject for one in found.sightings])
        words = [word.entry_id for several in coverage.words.values() for word in several]
        signers = entries_named(connection, store.nursery, words)
    rows = [Row(one, findings.get(one.subject)) for one in found.sightings]
    rows.sort(key=lambda row: (natural(row.sighting.place), row.sighting.subject))
    return StructureChart(plan, found, coverage, tuple(rows), signers)


def _findings(connection: Connection, nursery: int, survey: str, subjects: list[str]) -> dict[str, Finding]:
    found: dict[str, Finding] = {}
    for some in in_chunks(subjects):
        rows = connection.execute(
            select(col(FindingRow.subject), col(FindingRow.slots)).where(
                col(FindingRow.nursery) == nursery,
                col(FindingRow.survey) == survey,
                col(FindingRow.subject).in_(some),
            )
        )
        found.update({subject: load_finding(survey, subject, slots) for subject, slots in rows})
    return found
