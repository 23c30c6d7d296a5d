"""The fragments behind a figure of a survey: all that it found in one condition, or did not look at."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from sqlalchemy import ColumnElement, Connection, select
from sqlmodel import col

from server.review.calendar import Plan
from server.review.maps import Sighting
from server.review.sighted import where_it_hung
from server.review.structures import natural
from server.review.wholes import Whole, read_whole
from server.store.bulk import in_chunks
from server.store.engine import reading
from server.store.models import FindingRow
from server.store.record import RecordStore
from shared_schema.facts import Status
from shared_schema.ids import structure_of_place

__all__ = ["Condition", "Sightings", "is_in", "list_sightings"]

Condition: TypeAlias = Status | Literal["seen", "marked", "unseen"]
"""A status; or whether it was looked at at all, or found otherwise than alive."""


@dataclass(frozen=True, slots=True)
class Sightings:
    """Some of those in a condition, by structure and position, of `total`; `adrift` of all are on no structure of the survey."""

    plan: Plan
    some: Sequence[Sighting]
    total: int
    adrift: int


def is_in(status: str | None, condition: Condition) -> bool:
    """Whether something that was found in a status, or not looked at, is in a condition."""
    if condition == "marked":
        return status not in (None, "alive")
    if condition in ("seen", "unseen"):
        return (status is None) == (condition == "unseen")
    return status == condition


def list_sightings(store: RecordStore, survey: str, condition: Condition, first: int, limit: int) -> Sightings:
    """`limit` of those in a condition from `first` (counted from 0). Raises NothingSuch.

    Those of which no entry of the survey says where they are come last, with the place where they hung by then, if anywhere.
    """
    with reading(store.engine) as connection:
        whole = read_whole(store, connection, survey)
        many = {name: _count(whole, name, condition) for name in whole.hung}
        names, skipped = _within(many, first, first + limit)
        placed = sum(many.values())
        found = _on(connection, store.nursery, whole, names, condition)[first - skipped :][:limit]
        astray = _astray(connection, store.nursery, survey, condition) if _count(whole, "", condition) else []
    some = [*found, *astray[max(0, first - placed) : max(0, first + limit - placed)]]
    adrift = sum(structure_of_place(one.place) not in whole.hung for one in astray)
    return Sightings(whole.summary.plan, some, placed + len(astray), adrift)


def _count(whole: Whole, structure: str, condition: Condition) -> int:
    """How many of a structure are in a condition; of "" those of which no entry says where."""
    if condition == "unseen":
        return len(whole.missed.get(structure, ()))
    found = whole.counts[structure].found if structure in whole.counts else {}
    return sum(many for status, many in found.items() if is_in(status, condition))


def _within(many: Mapping[str, int], first: int, end: int) -> tuple[list[str], int]:
    """The structures on which those from `first` to before `end` are, and how many there are before these structures."""
    names: list[str] = []
    before = skipped = 0
    for name, count in many.items():
        if before < end and before + count > first:
            skipped = skipped if names else before
            names.append(name)
        before += count
    return names, skipped if names else first


def _on(connection: Connection, nursery: int, whole: Whole, names: Sequence[str], condition: Condition) -> list[Sighting]:
    """On these structures, one after the other, in the order of their positions."""
    found: dict[str, list[Sighting]] = {name: [] for name in names}
    if condition == "unseen":
        for name in names:
            found[name] += [Sighting(one.subject, one.place, None) for one in whole.missed[name]]
    else:
        columns = (col(FindingRow.structure), col(FindingRow.subject), col(FindingRow.place), *_SAID)
        for several in in_chunks(names):
            rows = connection.execute(
                select(*columns).where(
                    *_found(nursery, whole.summary.plan.survey, condition), col(FindingRow.structure).in_(several)
                )
            )
            for structure, subject, place, status, questions in rows:
                found[structure or ""].append(Sighting(subject, place or subject.partition(":")[2], status, questions))
    return [one for several in found.values() for one in _in_order(several)]


def _in_order(several: Iterable[Sighting]) -> list[Sighting]:
    return sorted(several, key=lambda one: (natural(one.place), one.subject))


def _found(nursery: int, survey: str, condition: Condition) -> tuple[ColumnElement[bool], ...]:
    status = col(FindingRow.status)
    how = status.is_not(None) if condition == "seen" else status != "alive" if condition == "marked" else status == condition
    return col(FindingRow.nursery) == nursery, col(FindingRow.survey) == survey, how


def _astray(connection: Connection, nursery: int, survey: str, condition: Condition) -> list[Sighting]:
    """Those of which the survey does not say that they are on a structure."""
    there = where_it_hung(nursery, survey)
    known = connection.execute(select(there.c.subject, there.c.place).where(there.c.status.is_not(None)))
    hung = {subject: place for subject, place in known}  # noqa: C416  # rows are no pairs for a type checker
    rows = connection.execute(
        select(col(FindingRow.subject), col(FindingRow.place), *_SAID).where(
            *_found(nursery, survey, condition), col(FindingRow.structure).is_(None)
        )
    )
    return _in_order(
        Sighting(subject, place or hung.get(subject) or "", status, questions) for subject, place, status, questions in rows
    )


_SAID: Final = (col(FindingRow.status), col(FindingRow.open))
