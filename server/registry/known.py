"""What the record holds already, as far as a nursery file has to fit it."""

import json
from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass, field

from sqlalchemy import Connection, bindparam, select
from sqlmodel import col

from server.store.bulk import in_chunks
from server.store.engine import reading
from server.store.folding import load_finding, load_standing
from server.store.models import EntryRow, FindingRow, StandingRow
from server.store.record import RecordStore
from shared_schema.designs import Design, parse_design
from shared_schema.discrepancies import Hanging, hanging
from shared_schema.fold import Finding
from shared_schema.ids import parse_entry_id, split_subject

__all__ = ["Known", "KnownFragment", "read_known"]

_SORTS = ("fragment", "genet", "person", "structure", "survey")


@dataclass(frozen=True, slots=True)
class KnownFragment:
    """A fragment of the record as it is now; `placed` is the survey that says where, "" where the standing facts do."""

    now: Hanging
    genet: str | None
    parent: str | None
    placed: str


@dataclass(frozen=True, slots=True)
class Known:
    """What a file is held against.

    `names` by sort; `stated` holds what the standing facts say of each subject (the findings of survey ""); `planted` the
    day on which a fragment was planted, for those among them.
    """

    names: Mapping[str, Set[str]] = field(default_factory=dict)
    designs: Mapping[str, Design] = field(default_factory=dict)
    fragments: Mapping[str, KnownFragment] = field(default_factory=dict)
    stated: Mapping[str, Finding] = field(default_factory=dict)
    planted: Mapping[str, str] = field(default_factory=dict)

    def holds(self, sort: str, name: str) -> bool:
        """Whether the record has something of this sort and name."""
        return name in self.names.get(sort, frozenset())


def read_known(store: RecordStore, subjects: Iterable[str]) -> Known:
    """What the record holds; what was stated, and when it was planted, only of `subjects`. Raises StorageError."""
    with reading(store.engine) as connection:
        stated = _stated(connection, store.nursery, list(subjects))
        names: dict[str, set[str]] = {sort: set() for sort in _SORTS}
        designs: dict[str, Design] = {}
        fragments: dict[str, KnownFragment] = {}
        for subject, facts in connection.execute(_STANDINGS, {"nursery": store.nursery, "sorts": _SORTS}):
            sort, name = split_subject(subject)
            standing = load_standing(subject, facts)
            if sort == "fragment":
                if standing.value("place") is None:
                    continue  # seen, and never planted: the file may say now where it came from
                now = hanging(standing)
                placed = standing.facts["place"].survey
                fragments[name] = KnownFragment(now, standing.value("genet"), standing.value("parent"), placed)
            elif sort == "structure" and standing.value("design") is not None:
                designs[name] = parse_design(standing.value("design"))
            names[sort].add(name)
        return Known(names, designs, fragments, stated, _planted(connection, store.nursery, stated))


_STANDINGS = select(col(StandingRow.subject), col(StandingRow.facts)).where(
    col(StandingRow.nursery) == bindparam("nursery"), col(StandingRow.sort).in_(bindparam("sorts", expanding=True))
)


def _stated(connection: Connection, nursery: int, subjects: list[str]) -> dict[str, Finding]:
    statement = select(col(FindingRow.subject), col(FindingRow.slots)).where(
        col(FindingRow.nursery) == nursery,
        col(FindingRow.survey) == "",
        col(FindingRow.subject).in_(bindparam("subjects", expanding=True)),
    )
    return {
        subject: load_finding("", subject, slots)
        for some in in_chunks(subjects)
        for subject, slots in connection.execute(statement, {"subjects": some})
    }


def _planted(connection: Connection, nursery: int, stated: Mapping[str, Finding]) -> dict[str, str]:
    """subject -> the day on which what its place slot holds was observed."""
    heads = {finding.slots["place"].heads[0]: subject for subject, finding in stated.items() if "place" in finding.slots}
    by_writer: dict[str, list[int]] = {}
    for head in heads:
        writer, number = parse_entry_id(head)
        by_writer.setdefault(writer, []).append(number)
    statement = select(col(EntryRow.number), col(EntryRow.raw)).where(
        col(EntryRow.nursery) == nursery,
        col(EntryRow.writer) == bindparam("writer"),
        col(EntryRow.number).in_(bindparam("numbers", expanding=True)),
    )
    return {
        heads[f"{writer}-{number}"]: json.loads(raw)["observed"][:10]
        for writer, numbers in by_writer.items()
        for some in in_chunks(numbers)
        for number, raw in connection.execute(statement, {"writer": writer, "numbers": some})
    }
