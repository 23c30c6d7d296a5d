"""What would stand if some entries were written: the same fold and the same rules, on the few subjects that they touch."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, select
from sqlmodel import col

from server.review.ancestors import parents_above
from server.review.entries import entries_about
from server.review.structures import structures_in
from server.review.suspects import carrying
from server.store.bulk import in_chunks
from server.store.engine import reading
from server.store.folding import load_standing
from server.store.models import StandingRow
from server.store.record import RecordStore
from shared_schema.discrepancies import Discrepancy, Hanging, hanging, of_fragment, of_places, of_tags, registered, rose_again
from shared_schema.envelope import BaseEntry
from shared_schema.fold import Finding, Record, Standing
from shared_schema.ids import split_subject, structure_of_place

__all__ = ["Foresight", "foresee"]


@dataclass(frozen=True, slots=True)
class Foresight:
    """What would stand. `discrepancies` are those about the subjects that were asked for, in a fixed order."""

    findings: Mapping[tuple[str, str], Finding]
    standings: Mapping[str, Standing]
    discrepancies: tuple[Discrepancy, ...]


def foresee(store: RecordStore, entries: Sequence[BaseEntry], about: Collection[str]) -> Foresight:
    """What would stand with these entries, of their subjects and of those in `about`."""
    subjects = {*about, *(entry.subject for entry in entries)}
    record = Record()
    with reading(store.engine) as connection:
        for subject in subjects:
            record.add(entries_about(connection, store.nursery, subject))
        record.add(entries)
        fragments = [one for subject, one in sorted(record.standings.items()) if split_subject(subject)[0] == "fragment"]
        found = [*_crowds(connection, store.nursery, fragments), *_alone(connection, store.nursery, record, fragments)]
    mine = sorted({one for one in found if not subjects.isdisjoint(one.subjects)})
    return Foresight(record.findings, record.standings, tuple(mine))


def _crowds(connection: Connection, nursery: int, fragments: Sequence[Standing]) -> Iterable[Discrepancy]:
    """Two in one place and one tag twice, among these and whoever else is there or carries it."""
    ours = {one.subject for one in fragments}
    present = [hanging(one) for one in fragments]
    places = {one.place for one in present if one.here and one.place is not None}
    tags = {one.tag for one in present if one.here and one.tag is not None}
    yield from of_places([*present, *_others(connection, nursery, _subjects_at(connection, nursery, places) - ours)])
    yield from of_tags([*present, *_others(connection, nursery, (carrying(connection, nursery, tags) if tags else set()) - ours)])


def _subjects_at(connection: Connection, nursery: int, places: Collection[str]) -> set[str]:
    structures = {structure_of_place(place) for place in places}
    return set(
        connection.execute(
            select(col(StandingRow.subject)).where(
                col(StandingRow.nursery) == nursery,
                col(StandingRow.structure).in_(sorted(one for one in structures if one is not None)),
                col(StandingRow.place).in_(sorted(places)),
            )
        ).scalars()
    )


def _others(connection: Connection, nursery: int, subjects: Collection[str]) -> list[Hanging]:
    return [hanging(one) for one in _standings(connection, nursery, subjects)]


def _standings(connection: Connection, nursery: int, subjects: Collection[str]) -> list[Standing]:
    found: list[Standing] = []
    for some in in_chunks(sorted(subjects)):
        rows = connection.execute(
            select(col(StandingRow.subject), col(StandingRow.facts)).where(
                col(StandingRow.nursery) == nursery, col(StandingRow.subject).in_(some)
            )
        )
        found += [load_standing(subject, facts) for subject, facts in rows]
    return found


def _alone(connection: Connection, nursery: int, record: Record, fragments: Sequence[Standing]) -> Iterable[Discrepancy]:
    """What does not add up about each of these by itself."""
    places = [place for one in fragments if (place := one.value("place")) is not None]
    hung = structures_in(connection, nursery, {name for place in places if (name := structure_of_place(place)) is not None})
    designs = {name: one.design for name, one in hung.items() if one.design is not None}
    parents = _parents(connection, nursery, fragments)
    named = {f"genet:{genet}" for one in fragments if (genet := one.value("genet")) is not None}
    known = [*_standings(connection, nursery, named - record.standings.keys()), *record.standings.values()]
    genets = {split_subject(one.subject)[1] for one in known if registered(one)}
    for standing in fragments:
        yield from of_fragment(standing, designs, parents, genets)
        yield from rose_again(record.of_subject(standing.subject))


def _parents(connection: Connection, nursery: int, fragments: Sequence[Standing]) -> dict[str, str | None]:
    names = {split_subject(one.subject)[1]: one for one in fragments}
    above = {parent for one in fragments if (parent := one.value("parent")) is not None}
    parents = dict(parents_above(connection, nursery, *names, *above))
    for name, standing in names.items():
        parents.pop(name, None)
        if standing.value("place") is not None:
            parents[name] = standing.value("parent")
    return parents
