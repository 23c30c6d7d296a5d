"""The fragments whose place is on a structure, as the record stands now: those that hang there, and those that did to the last."""

from collections import Counter
from dataclasses import dataclass
from typing import cast

from sqlalchemy import select
from sqlmodel import col

from server.review.stock import State, Survival
from server.review.structures import natural
from server.store.engine import reading
from server.store.models import StandingRow
from server.store.record import RecordStore

__all__ = ["Resident", "Residents", "list_residents"]


@dataclass(frozen=True, slots=True)
class Resident:
    """A fragment; `status` None where nobody ever looked, `looked` is the survey that did last."""

    subject: str
    place: str
    genet: str | None
    state: State
    status: str | None
    looked: str


@dataclass(frozen=True, slots=True)
class Residents:
    """Some of those in a state, by position, of `total`; `survival` speaks of all whose place is here."""

    some: tuple[Resident, ...]
    total: int
    survival: Survival


def list_residents(store: RecordStore, structure: str, state: State | None, first: int, limit: int) -> Residents:
    """`limit` of those in a state from `first` (counted from 0); none of them where no state is asked for."""
    with reading(store.engine) as connection:
        rows = connection.execute(
            select(
                col(StandingRow.subject),
                col(StandingRow.place),
                col(StandingRow.genet),
                col(StandingRow.state),
                col(StandingRow.status),
                col(StandingRow.status_survey),
            ).where(
                col(StandingRow.nursery) == store.nursery,
                col(StandingRow.structure) == structure,
                col(StandingRow.sort) == "fragment",
            )
        ).all()
    everybody = [
        Resident(subject, place or "", genet, cast("State", became), status, looked or "")
        for subject, place, genet, became, status, looked in rows
    ]
    those = sorted((one for one in everybody if one.state == state), key=lambda one: (natural(one.place), one.subject))
    return Residents(tuple(those[first : first + limit]), len(those), Counter(one.state for one in everybody))
