"""What somebody did: the dives they were on."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlmodel import col

from server.store.engine import reading
from server.store.folding import load_finding
from server.store.models import FindingRow
from server.store.record import RecordStore
from shared_schema.errors import NothingSuch
from shared_schema.fold import Standing

__all__ = ["Crew", "Dive", "read_crew"]


@dataclass(frozen=True, slots=True)
class Dive:
    """A dive as it was logged: `log` are the fields of the entry."""

    subject: str
    survey: str
    log: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Crew:
    """Somebody who is listed, or named in a dive; dives newest first."""

    person: str
    standing: Standing
    dives: tuple[Dive, ...]


def read_crew(store: RecordStore, person: str) -> Crew:
    """Somebody's dives. Raises NothingSuch where the record does not know them."""
    standing = store.standing(f"person:{person}")
    with reading(store.engine) as connection:
        rows = connection.execute(
            select(col(FindingRow.survey), col(FindingRow.subject), col(FindingRow.slots)).where(
                col(FindingRow.nursery) == store.nursery,
                col(FindingRow.subject) >= "visit:",
                col(FindingRow.subject) < "visit;",
                col(FindingRow.slots).contains(f'"{person}"', autoescape=True),
            )
        ).all()
    dives = []
    for survey, subject, slots in rows:
        log = load_finding(survey, subject, slots).value("dive")
        if log is not None and person in log.get("people", ()):
            dives.append(Dive(subject, survey, log))
    if not standing.facts and not dives:
        raise NothingSuch("there is nobody called %(person)r in the record", person=person)
    dives.sort(key=lambda dive: (dive.survey, dive.log.get("went_in") or "", dive.subject), reverse=True)
    return Crew(person, standing, tuple(dives))
