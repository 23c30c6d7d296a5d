"""The history of one fragment: survey by survey what was found and who said so, and whom it descends from."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlmodel import col

from server.review.ancestors import parents_above
from server.review.discrepancies import discrepancies_of
from server.store.engine import reading
from server.store.folding import load_finding
from server.store.models import FindingRow, StandingRow
from server.store.record import RecordStore, StoredEntry
from shared_schema.discrepancies import Discrepancy
from shared_schema.entries import EntryWithdrawn, RulingGiven
from shared_schema.envelope import BaseEntry
from shared_schema.errors import NothingSuch
from shared_schema.facts import value_key
from shared_schema.fold import Finding, Standing
from shared_schema.ids import split_subject
from shared_schema.lineage import Descent, descent_of

__all__ = ["Chapter", "History", "Ruled", "read_history"]


@dataclass(frozen=True, slots=True)
class Ruled:
    """What the office settled or corrected, with what it replaced: who said that, and what. `withdrawn`: it was taken back."""

    entry: RulingGiven
    was: tuple[tuple[BaseEntry, Any], ...]
    withdrawn: bool


@dataclass(frozen=True, slots=True)
class Chapter:
    """What one survey found of a subject, and the entries behind it."""

    finding: Finding
    entries: tuple[StoredEntry, ...]

    @property
    def rulings(self) -> tuple[Ruled, ...]:
        """The rulings of the office, in the order in which they were written."""
        entries = [one.entry for one in self.entries if one.entry is not None]
        back = {(one.target, one.by) for one in entries if isinstance(one, EntryWithdrawn)}
        given = sorted((one for one in entries if isinstance(one, RulingGiven)), key=lambda one: one.entry_id)
        return tuple(Ruled(one, _was(one, entries), (one.id, one.by) in back) for one in given)


def _was(ruling: RulingGiven, entries: Sequence[BaseEntry]) -> tuple[tuple[BaseEntry, Any], ...]:
    """What a ruling replaced, each value with the first who said it."""
    said: dict[str, tuple[BaseEntry, Any]] = {}
    for one in entries:
        value = dict(one.facts()).get(ruling.fact) if one.id in ruling.replaces else None
        if value is not None:
            said.setdefault(value_key(value), (one, value))
    return tuple(said.values())


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
