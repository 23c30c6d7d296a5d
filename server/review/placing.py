"""Which fragments hung on a structure when a survey was made, and were not looked at.

A fragment's standing says where it hangs now. For a survey of the past that is the answer too, unless it was hung,
moved, lost or found alive again since: those few are folded again from what was known by then.
"""

from collections.abc import Collection, Iterator
from dataclasses import dataclass

from sqlalchemy import ColumnElement, Connection, and_, exists, or_, select
from sqlalchemy.orm import aliased
from sqlmodel import col

from server.review.calendar import surveys_in
from server.store.folding import load_finding
from server.store.models import FindingRow, StandingRow
from server.store.picked import SAYS_GONE
from shared_schema.discrepancies import hanging
from shared_schema.facts import GONE
from shared_schema.fold import Finding, stand
from shared_schema.ids import structure_of_place

__all__ = ["Hangs", "not_looked_at"]


@dataclass(frozen=True, slots=True)
class Hangs:
    """A fragment where it hung: its subject, and the address."""

    subject: str
    place: str


def not_looked_at(connection: Connection, nursery: int, survey: str, structures: Collection[str] | None = None) -> list[Hangs]:
    """Fragments that hung there by the end of a survey and that it has no status of; those lost before are not missed."""
    found = list(_by_standing(connection, nursery, survey, structures))
    later = surveys_in(connection, nursery)[:1]
    if later and later[0] > survey:
        found += _folded_again(connection, nursery, survey, structures)
    return found


def _unseen(nursery: int, survey: str) -> ColumnElement[bool]:
    """Of a row of `standing`: the survey has no status of it."""
    seen = aliased(FindingRow)
    return ~exists().where(
        col(seen.nursery) == nursery,
        col(seen.survey) == survey,
        col(seen.subject) == col(StandingRow.subject),
        col(seen.status).is_not(None),
    )


def _gone_by(nursery: int, survey: str, few: bool) -> ColumnElement[bool]:
    """Of a row of `standing`: a survey, or one before it, found it dead or lost. Those that are alive now rose since.

    For few rows the database looks each up, for many it lists all that were gone.
    """
    if few:
        gone = aliased(FindingRow)
        return exists().where(
            col(gone.nursery) == nursery,
            col(gone.subject) == col(StandingRow.subject),
            col(gone.survey) <= survey,
            col(gone.status).in_(sorted(GONE)),
        )
    found = col(FindingRow.survey) <= survey
    return col(StandingRow.subject).in_(
        select(col(FindingRow.subject)).where(
            col(FindingRow.nursery) == nursery, col(FindingRow.sort) == "fragment", found, SAYS_GONE
        )
    )


def _by_standing(connection: Connection, nursery: int, survey: str, structures: Collection[str] | None) -> Iterator[Hangs]:
    looked = col(StandingRow.status_survey)
    rows = connection.execute(
        select(col(StandingRow.subject), col(StandingRow.place)).where(
            col(StandingRow.nursery) == nursery,
            col(StandingRow.sort) == "fragment",
            col(StandingRow.structure).is_not(None) if structures is None else col(StandingRow.structure).in_(sorted(structures)),
            col(StandingRow.place_survey) <= survey,
            col(StandingRow.state).not_in(sorted(GONE)),
            # Only where it was looked at later, too, does it take a look at what this survey found.
            or_(
                looked.is_(None),
                looked < survey,
                and_(looked > survey, _unseen(nursery, survey), ~_gone_by(nursery, survey, structures is not None)),
            ),
        )
    )
    for subject, place in rows:
        if place is not None:
            yield Hangs(subject, place)


def _folded_again(connection: Connection, nursery: int, survey: str, structures: Collection[str] | None) -> Iterator[Hangs]:
    changed = or_(
        col(StandingRow.place_survey) > survey,
        and_(col(StandingRow.status).in_(sorted(GONE)), col(StandingRow.status_survey) > survey),
        and_(col(StandingRow.status_survey) > survey, _gone_by(nursery, survey, structures is not None)),
    )
    statement = (
        select(col(FindingRow.subject), col(FindingRow.survey), col(FindingRow.slots))
        .join(
            StandingRow,
            and_(
                col(StandingRow.nursery) == col(FindingRow.nursery),
                col(StandingRow.subject) == col(FindingRow.subject),
            ),
        )
        .where(
            col(StandingRow.nursery) == nursery,
            col(StandingRow.sort) == "fragment",
            changed,
            col(FindingRow.survey) <= survey,
            _unseen(nursery, survey),
        )
    )
    if structures is not None:
        there = select(col(FindingRow.subject)).where(
            col(FindingRow.nursery) == nursery,
            col(FindingRow.survey).in_([*surveys_in(connection, nursery, survey), ""]),
            col(FindingRow.structure).in_(sorted(structures)),
        )
        statement = statement.where(col(StandingRow.subject).in_(there))
    findings: dict[str, list[Finding]] = {}
    for subject, when, slots in connection.execute(statement):
        findings.setdefault(subject, []).append(load_finding(when, subject, slots))
    for subject, several in findings.items():
        then = hanging(stand(subject, several))
        if then.here and then.place and (structures is None or structure_of_place(then.place) in structures):
            yield Hangs(subject, then.place)
