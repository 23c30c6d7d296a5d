"""What does not add up in the record. The database picks the few rows in question; the rules of the schema judge them."""

from bisect import insort
from collections.abc import Collection, Mapping, Sequence, Set
from typing import Final, NamedTuple

from sqlalchemy import Connection, select
from sqlmodel import col

from server.review.ancestors import parents_above
from server.review.remembering import Shelf, remembered
from server.review.structures import structures_in
from server.review.suspects import (
    carrying,
    descending_from_itself,
    doubtful,
    hanging_on_it,
    in_the_place_of,
    own_ancestors,
    risen,
    sharing_a_place,
    sharing_a_tag,
    with_the_tag_of,
)
from server.store.bulk import in_chunks
from server.store.engine import reading
from server.store.folding import load_finding, load_standing
from server.store.models import FindingRow, StandingRow
from server.store.record import RecordStore
from shared_schema.designs import Design
from shared_schema.discrepancies import Discrepancy, Sort, hanging, of_fragment, of_places, of_tags, registered, rose_again
from shared_schema.fold import Finding, Standing
from shared_schema.ids import split_subject, structure_of_place

__all__ = ["discrepancies_of", "list_discrepancies"]

_JUDGED: Final = Shelf("discrepancies", most=1)


class _Judged(NamedTuple):
    """What does not add up, in a fixed order, and what it was held against."""

    designs: Mapping[str, Design]
    genets: Set[str]
    found: tuple[Discrepancy, ...]


def list_discrepancies(store: RecordStore) -> list[Discrepancy]:
    """All that does not add up in the nursery, in a fixed order."""
    with reading(store.engine) as connection:
        judged = remembered(
            connection,
            store.nursery,
            _JUDGED,
            "",
            lambda: _judge_all(connection, store.nursery),
            mend=lambda held, touched: _judge_again(connection, store.nursery, held, touched.fragments),
        )
    return list(judged.found)


def _judge_all(connection: Connection, nursery: int) -> _Judged:
    designs, genets = _designs(connection, nursery), _registered(connection, nursery)
    places = sharing_a_place(connection, nursery)
    tags = sharing_a_tag(connection, nursery)
    alone = doubtful(connection, nursery, designs) | own_ancestors(connection, nursery)
    found = _judge(connection, nursery, designs, places, tags, alone, risen(connection, nursery))
    return _Judged(designs, genets, tuple(found))


def _judge_again(connection: Connection, nursery: int, held: _Judged, touched: Set[str]) -> _Judged:
    """What was `held` with whatever these fragments have a say in judged anew: they change what holds for others, too."""
    designs, genets = _designs(connection, nursery), _registered(connection, nursery)
    unlike = {name for name in designs.keys() | held.designs.keys() if designs.get(name) != held.designs.get(name)}
    companions = {subject for one in held.found if not touched.isdisjoint(one.subjects) for subject in one.subjects}
    spoken_of = touched | companions
    places = spoken_of | {one for some in in_chunks(sorted(spoken_of)) for one in in_the_place_of(connection, nursery, some)}
    tags = spoken_of | {one for some in in_chunks(sorted(spoken_of)) for one in with_the_tag_of(connection, nursery, some)}
    alone = {
        *touched,
        *hanging_on_it(connection, nursery, touched, unlike, genets ^ held.genets),
        *(one.subjects[0] for one in held.found if one.sort == "own_ancestor"),
        *descending_from_itself(parents_above(connection, nursery, *(split_subject(one)[1] for one in touched))),
    }
    dead = {
        subject: findings for some in in_chunks(sorted(touched)) for subject, findings in risen(connection, nursery, some).items()
    }
    anew: Mapping[Sort, Set[str]] = {"two_in_one_place": places, "tag_twice": tags, "dead_then_alive": touched}
    still = [one for one in held.found if anew.get(one.sort, alone).isdisjoint(one.subjects)]
    for one in _judge(connection, nursery, designs, places, tags, alone, dead):
        insort(still, one)
    return _Judged(designs, genets, tuple(still))


def discrepancies_of(store: RecordStore, fragment: str) -> list[Discrepancy]:
    """What does not add up about one fragment, others in its place and with its tag included."""
    subject = f"fragment:{fragment}"
    with reading(store.engine) as connection:
        standing = _standings(connection, store.nursery, [subject]).get(subject)
        if standing is None:
            return []
        designs = _designs(connection, store.nursery)
        mates = set(
            connection.execute(
                select(col(StandingRow.subject)).where(
                    col(StandingRow.nursery) == store.nursery,
                    col(StandingRow.structure) == structure_of_place(standing.value("place") or ""),
                    col(StandingRow.place) == standing.value("place"),
                )
            ).scalars()
        )
        tag = standing.value("tag")
        tags = carrying(connection, store.nursery, [tag]) if tag else set()
        findings = _findings(connection, store.nursery, [subject])
        found = _judge(connection, store.nursery, designs, mates, tags, {subject}, findings)
    return [one for one in found if subject in one.subjects]


def _judge(
    connection: Connection,
    nursery: int,
    designs: Mapping[str, Design],
    places: Collection[str],
    tags: Collection[str],
    alone: Collection[str],
    dead: Mapping[str, Sequence[Finding]],
) -> list[Discrepancy]:
    standings = _standings(connection, nursery, {*places, *tags, *alone})
    found: list[Discrepancy] = []
    found += of_places(hanging(standings[one]) for one in places if one in standings)
    found += of_tags(hanging(standings[one]) for one in tags if one in standings)
    parents = parents_above(connection, nursery, *(split_subject(one)[1] for one in alone))
    genets = _genets(connection, nursery, [standings[one] for one in alone if one in standings])
    for subject in alone:
        if subject in standings:
            found += of_fragment(standings[subject], designs, parents, genets)
    for findings in dead.values():
        found += rose_again(findings)
    return sorted(found)


def _designs(connection: Connection, nursery: int) -> dict[str, Design]:
    hung = structures_in(connection, nursery)
    return {name: one.design for name, one in hung.items() if one.design is not None}


def _registered(connection: Connection, nursery: int) -> set[str]:
    rows = connection.execute(
        select(col(StandingRow.subject), col(StandingRow.facts)).where(
            col(StandingRow.nursery) == nursery, col(StandingRow.sort) == "genet"
        )
    )
    return {split_subject(subject)[1] for subject, facts in rows if registered(load_standing(subject, facts))}


def _standings(connection: Connection, nursery: int, subjects: Collection[str]) -> dict[str, Standing]:
    found: dict[str, Standing] = {}
    for some in in_chunks(sorted(subjects)):
        rows = connection.execute(
            select(col(StandingRow.subject), col(StandingRow.facts)).where(
                col(StandingRow.nursery) == nursery, col(StandingRow.subject).in_(some)
            )
        )
        found.update({subject: load_standing(subject, facts) for subject, facts in rows})
    return found


def _genets(connection: Connection, nursery: int, standings: Collection[Standing]) -> set[str]:
    names = {f"genet:{name}" for one in standings if (name := one.value("genet")) is not None}
    found = _standings(connection, nursery, names).values()
    return {split_subject(one.subject)[1] for one in found if registered(one)}


def _findings(connection: Connection, nursery: int, subjects: Collection[str]) -> dict[str, list[Finding]]:
    found: dict[str, list[Finding]] = {}
    for some in in_chunks(sorted(subjects)):
        rows = connection.execute(
            select(col(FindingRow.survey), col(FindingRow.subject), col(FindingRow.slots)).where(
                col(FindingRow.nursery) == nursery, col(FindingRow.subject).in_(some)
            )
        )
        for survey, subject, slots in rows:
            found.setdefault(subject, []).append(load_finding(survey, subject, slots))
    return found
