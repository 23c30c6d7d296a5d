"""The history of one position: who hung there, from when to when, and what each survey found."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from sqlalchemy import Connection, or_, select
from sqlmodel import col

from server.review.calendar import surveys_in
from server.review.structures import Hung, structures_in
from server.store.bulk import in_chunks
from server.store.engine import reading
from server.store.folding import load_finding
from server.store.models import FindingRow
from server.store.record import RecordStore
from shared_schema.designs import Position
from shared_schema.errors import NothingSuch
from shared_schema.fold import Finding
from shared_schema.ids import parse_address

__all__ = ["PositionHistory", "Stay", "read_position"]


@dataclass(frozen=True, slots=True)
class Stay:
    """A fragment that hung here. `since` and `until` are surveys ("" the first record); `until` None: it still does."""

    subject: str
    since: str
    until: str | None
    onward: str | None = None


@dataclass(frozen=True, slots=True)
class PositionHistory:
    """A position. `stays` and `findings` newest first; `position` is None where the structure has none such."""

    address: str
    hung: Hung
    position: Position | None
    stays: tuple[Stay, ...]
    findings: tuple[Finding, ...]


def read_position(store: RecordStore, address: str) -> PositionHistory:
    """The history of a position. Raises BadId, NothingSuch where there is no such position and nobody spoke of it."""
    place = parse_address(address)
    with reading(store.engine) as connection:
        hung = structures_in(connection, store.nursery, [place.structure])[place.structure]
        subjects = _who_was_there(connection, store.nursery, place.structure, address)
        findings = _findings(connection, store.nursery, {*subjects, f"position:{address}"})
    position = None
    if hung.design is not None:
        position = next((one for one in hung.design.positions if one.path == place.path), None)
    if position is None and not findings:
        raise NothingSuch(
            "there is no position %(address)r in the record: %(structure)s has none such, and nobody spoke of it",
            address=address,
            structure=place.structure,
        )
    stays = [stay for subject in subjects for stay in _stays(subject, address, findings)]
    stays.sort(key=lambda stay: (stay.until is None, stay.since, stay.subject), reverse=True)
    here = [one for one in findings if _is_about(one, address, stays)]
    here.sort(key=lambda one: (one.survey, one.subject), reverse=True)
    return PositionHistory(address, hung, position, tuple(stays), tuple(here))


def _who_was_there(connection: Connection, nursery: int, structure: str, address: str) -> list[str]:
    """Fragments that were ever hung or seen at the address."""
    rows = connection.execute(
        select(col(FindingRow.subject))
        .where(
            col(FindingRow.nursery) == nursery,
            col(FindingRow.survey).in_([*surveys_in(connection, nursery), ""]),
            col(FindingRow.structure) == structure,
            col(FindingRow.sort) == "fragment",
            or_(
                col(FindingRow.slots).contains(f'"place":["{address}"', autoescape=True),
                col(FindingRow.slots).contains(f'"seen_at":["{address}"', autoescape=True),
            ),
        )
        .distinct()
    )
    return sorted(rows.scalars())


def _findings(connection: Connection, nursery: int, subjects: Collection[str]) -> list[Finding]:
    found: list[Finding] = []
    for some in in_chunks(sorted(subjects)):
        rows = connection.execute(
            select(col(FindingRow.survey), col(FindingRow.subject), col(FindingRow.slots)).where(
                col(FindingRow.nursery) == nursery, col(FindingRow.subject).in_(some)
            )
        )
        found += [load_finding(survey, subject, slots) for survey, subject, slots in rows]
    return found


def _stays(subject: str, address: str, findings: Iterable[Finding]) -> list[Stay]:
    """When a fragment hung here: from each survey that hung it here to the next one that put it elsewhere."""
    placed = sorted(
        (one.survey, one.value("place")) for one in findings if one.subject == subject and one.value("place") is not None
    )
    stays: list[Stay] = []
    since: str | None = None
    for survey, place in placed:
        if place == address:
            since = survey if since is None else since
        elif since is not None:
            stays.append(Stay(subject, since, survey, place))
            since = None
    return stays if since is None else [*stays, Stay(subject, since, None)]


def _is_about(finding: Finding, address: str, stays: Iterable[Stay]) -> bool:
    """Whether a finding is of what was at the address: said so, or of whoever hung here then and was seen nowhere else."""
    if finding.subject == f"position:{address}":
        return True
    said = finding.value("place"), finding.value("seen_at")
    if address in said:
        return True
    return said == (None, None) and any(
        stay.subject == finding.subject and stay.since <= finding.survey and (stay.until is None or finding.survey < stay.until)
        for stay in stays
    )
