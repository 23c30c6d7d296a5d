"""Genets: each with all its ramets, by generation, and what became of them."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import islice
from typing import NamedTuple

from sqlalchemy import Connection, select, true
from sqlmodel import col

from server.review.sightings import Condition, is_in
from server.review.stock import State, Survival, state_of, survival_by_genet
from server.review.stock_book import stock_book
from server.review.structures import in_reading_order, natural
from server.store.bulk import in_chunks
from server.store.engine import reading
from server.store.folding import load_standing
from server.store.models import StandingRow
from server.store.record import RecordStore
from shared_schema.errors import NothingSuch
from shared_schema.fold import Standing
from shared_schema.ids import split_subject, structure_of_place
from shared_schema.lineage import generations, offspring

__all__ = ["Family", "GenetLine", "Ramet", "Unrecorded", "Wanted", "list_genets", "list_unrecorded", "read_family"]


@dataclass(frozen=True, slots=True)
class GenetLine:
    """A genet in one line; `name` is None for the fragments of no recorded genet, `standing` where nobody registered it."""

    name: str | None
    standing: Standing | None
    survival: Survival

    @property
    def total(self) -> int:
        """How many ramets there ever were."""
        return sum(self.survival.values())


class Unrecorded(NamedTuple):
    """A fragment of no recorded genet; `status` None where nobody ever looked, `looked` is the survey that did last."""

    subject: str
    place: str | None
    status: str | None
    looked: str


@dataclass(frozen=True, slots=True)
class Ramet:
    """One fragment of a genet. `generation` is 0 for a founder; `status` None where nobody ever looked."""

    name: str
    parent: str | None
    generation: int
    place: str | None
    status: str | None
    looked: str
    state: State

    @property
    def structure(self) -> str | None:
        """The structure that it hangs on, None where it hangs on none."""
        return structure_of_place(self.place or "")


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which ramets of a genet are asked for: all, or those that are such in each respect named.

    In a state, on a structure ("" is on none), last found in a condition, of a generation, cut from one mother, or never cut
    themselves.
    """

    state: State | None = None
    structure: str | None = None
    status: Condition | None = None
    generation: int | None = None
    mother: str | None = None
    uncut: bool = False

    @property
    def everybody(self) -> bool:
        """Whether all are."""
        return self == Wanted()

    def takes(self, one: Ramet, cut: bool) -> bool:
        """Whether a ramet is; `cut`: it has cuttings."""
        return (
            self.state in (None, one.state)
            and self.structure in (None, one.structure or "")
            and (self.status is None or is_in(one.status, self.status))
            and self.generation in (None, one.generation)
            and self.mother in (None, one.parent)
            and not (self.uncut and cut)
        )


@dataclass(frozen=True)
class Family:
    """A genet with its ramets, by generation and name."""

    name: str
    standing: Standing
    ramets: tuple[Ramet, ...]

    @cached_property
    def survival(self) -> Survival:
        """What became of its ramets."""
        return Counter(one.state for one in self.ramets)

    @cached_property
    def cuttings(self) -> Mapping[str, tuple[str, ...]]:
        """mother -> her cuttings of this genet."""
        return offspring({one.name: one.parent for one in self.ramets})

    @cached_property
    def by_generation(self) -> dict[int, Survival]:
        """generation -> what became of its ramets."""
        found: dict[int, Counter[State]] = {}
        for one in self.ramets:
            found.setdefault(one.generation, Counter())[one.state] += 1
        return dict(sorted(found.items()))

    @cached_property
    def where(self) -> dict[str, Counter[str | None]]:
        """structure -> status -> how many are held there; "" for those in hand or on the sand."""
        found: dict[str, Counter[str | None]] = {}
        for one in self.ramets:
            if one.state == "held":
                found.setdefault(one.structure or "", Counter())[one.status] += 1
        return {name: found[name] for name in in_reading_order(found)}

    def those(self, wanted: Wanted) -> tuple[Ramet, ...]:
        """The ramets that are as wanted."""
        return tuple(one for one in self.ramets if wanted.takes(one, bool(self.cuttings.get(one.name))))


def list_genets(store: RecordStore) -> list[GenetLine]:
    """All genets that were registered or that a fragment is said to be of, in the order of their names."""
    with reading(store.engine) as connection:
        rows = connection.execute(
            select(col(StandingRow.subject), col(StandingRow.facts)).where(
                col(StandingRow.nursery) == store.nursery, col(StandingRow.sort) == "genet"
            )
        ).all()
        survival = survival_by_genet(connection, store.nursery)
    standings = {split_subject(subject)[1]: load_standing(subject, facts) for subject, facts in rows}
    names = in_reading_order({*standings, *(name for name in survival if name is not None)})
    lines = [GenetLine(name, standings.get(name), survival.get(name, {})) for name in names]
    return [*lines, GenetLine(None, None, survival[None])] if None in survival else lines


def list_unrecorded(store: RecordStore, state: State | None, first: int, limit: int) -> list[Unrecorded]:
    """`limit` of the fragments whose genet nobody recorded, in a state or in any, by name, from `first` (counted from 0)."""
    with reading(store.engine) as connection:
        with stock_book(store, connection) as book:
            names = sorted(subject for subject, genet in book.genets.items() if genet is None)
        if state is None:
            return list(_unrecorded(connection, store.nursery, names[first : first + limit], None))
        return list(islice(_unrecorded(connection, store.nursery, names, state), first, first + limit))


def _unrecorded(connection: Connection, nursery: int, names: Sequence[str], state: State | None) -> Iterator[Unrecorded]:
    columns = (col(StandingRow.subject), col(StandingRow.place), col(StandingRow.status), col(StandingRow.status_survey))
    for some in in_chunks(names):
        rows = connection.execute(
            select(*columns)
            .where(
                col(StandingRow.nursery) == nursery,
                col(StandingRow.subject).in_(some),
                true() if state is None else col(StandingRow.state) == state,
            )
            .order_by(col(StandingRow.subject))
        )
        yield from (Unrecorded(subject, place, status, looked or "") for subject, place, status, looked in rows)


def read_family(store: RecordStore, name: str) -> Family:
    """A genet's family. Raises NothingSuch where nobody registered it and no fragment is of it."""
    with reading(store.engine) as connection:
        standing = store.standing(f"genet:{name}")
        ramets = _ramets(connection, store.nursery, name)
    if not standing.facts and not ramets:
        raise NothingSuch("there is no genet %(name)r in the record: nobody registered it, and no fragment is of it", name=name)
    return Family(name, standing, ramets)


def _ramets(connection: Connection, nursery: int, genet: str) -> tuple[Ramet, ...]:
    rows = connection.execute(
        select(
            col(StandingRow.subject),
            col(StandingRow.parent),
            col(StandingRow.place),
            col(StandingRow.place_survey),
            col(StandingRow.status),
            col(StandingRow.status_survey),
        ).where(col(StandingRow.nursery) == nursery, col(StandingRow.genet) == genet, col(StandingRow.sort) == "fragment")
    ).all()
    parents = {split_subject(row[0])[1]: row[1] for row in rows}
    # A mother of another genet, or one that is not in the record, begins no line here: its cutting is counted as the first.
    depth = generations({name: parent if parent in parents else None for name, parent in parents.items()})
    ramets = []
    for subject, parent, place, placed, status, looked in rows:
        ramet = split_subject(subject)[1]
        state = state_of(place, placed or "", status, looked or "")
        ramets.append(Ramet(ramet, parent, depth[ramet], place, status, looked or "", state))
    return tuple(sorted(ramets, key=lambda one: (one.generation, natural(one.name))))
