"""What does not add up in the record. The database picks the few rows in question; the rules of the schema judge them."""

from collections.abc import Collection, Mapping, Sequence

from sqlalchemy import Connection, select
from sqlmodel import col

from server.review.ancestors import parents_above
from server.review.remembering import remembered
from server.review.structures import structures_in
from server.review.suspects import carrying, doubtful, own_ancestors, risen, sharing_a_place, sharing_a_tag
from server.store.bulk import in_chunks
from server.store.engine import reading
from server.store.folding import load_finding, load_standing
from server.store.models import FindingRow, StandingRow
from server.store.record import RecordStore
from shared_schema.designs import Design
from shared_schema.discrepancies import Discrepancy, hanging, of_fragment, of_places, of_tags, registered, rose_again
from shared_schema.fold import Finding, Standing
from shared_schema.ids import split_subject, structure_of_place

__all__ = ["discrepancies_of", "list_discrepancies"]


def list_discrepancies(store: RecordStore) -> list[Discrepancy]:
    """All that does not add up in the nursery, in a fixed order."""
    with reading(store.engine) as connection:
        return list(remembered(connection, store.nursery, "discrepancies", "", lambda: _judge_all(connection, store.nursery)))


def _judge_all(connection: Connection, nursery: int) -> tuple[Discrepancy, ...]:
    designs = _designs(connection, nursery)
    places = sharing_a_place(connection, nursery)
    tags = sharing_a_tag(connection, nursery)
    alone = doubtful(connection, nursery, designs) | own_ancestors(connection, nursery)
    return tuple(_judge(connection, nursery, designs, places, tags, alone, risen(connection, nursery)))


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
