"""The history of one fragment: survey by survey what was found and who said so, and whom it descends from."""

from dataclasses import dataclass

from sqlalchemy import select
from sqlmodel import col

from server.review.ancestors import parents_above
from server.review.discrepancies import discrepancies_of
from server.store.engine import reading
from server.store.folding import load_finding
from server.store.models import FindingRow, StandingRow
from server.store.record import RecordStore, StoredEntry
from shared_schema.discrepancies import Discrepancy
from shared_schema.errors import NothingSuch
from shared_schema.fold import Finding, Standing
from shared_schema.ids import split_subject
from shared_schema.lineage import Descent, descent_of

__all__ = ["Chapter", "History", "read_history"]


@dataclass(frozen=True, slots=True)
class Chapter:
    """What one survey found of a subject, and the entries behind it."""

    finding: Finding
    entries: tuple[StoredEntry, ...]


@dataclass(frozen=True, slots=True)
class History:
    """A fragment's chapters newest first, its descent, and its cuttings in the order of their names."""

    fragment: str
    standing: Standing
    chapters: tuple[Chapter, ...]
    descent: Descent
    offspring: tuple[str, ...]
    discrepancies: tuple[Discrepancy, ...]


def read_history(store: RecordStore, fragment: str) -> History:
    """The history of a fragment. Raises NothingSuch where the record does not know it."""
    subject = f"fragment:{fragment}"
    with reading(store.engine) as connection:
        rows = connection.execute(
            select(col(FindingRow.survey), col(FindingRow.slots))
            .where(col(FindingRow.nursery) == store.nursery, col(FindingRow.subject) == subject)
            .order_by(col(FindingRow.survey).desc())
        ).all()
        if not rows:
            raise NothingSuch("there is no fragment %(fragment)r in the record: look at its tag again", fragment=fragment)
        children = connection.execute(
            select(col(StandingRow.subject)).where(col(StandingRow.nursery) == store.nursery, col(StandingRow.parent) == fragment)
        ).scalars()
        offspring = tuple(sorted(split_subject(child)[1] for child in children))
        descent = descent_of(fragment, parents_above(connection, store.nursery, fragment))
    findings = [load_finding(survey, subject, slots) for survey, slots in rows]
    return History(
        fragment=fragment,
        standing=store.standing(subject),
        chapters=tuple(Chapter(one, tuple(store.entries_of(one.survey, subject))) for one in findings),
        descent=descent,
        offspring=offspring,
        discrepancies=tuple(discrepancies_of(store, fragment)),
    )
