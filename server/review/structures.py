"""The structures of the nursery and their designs."""

import re
from collections.abc import Collection
from dataclasses import dataclass
from functools import lru_cache

from sqlalchemy import Connection, select
from sqlmodel import col

from server.store.folding import load_standing
from server.store.models import StandingRow
from shared_schema.designs import Design, parse_design
from shared_schema.errors import DesignError
from shared_schema.ids import split_subject

__all__ = ["Hung", "in_reading_order", "natural", "structures_in"]


@dataclass(frozen=True, slots=True)
class Hung:
    """A structure as it stands. `design` is None where nobody hung it, or a newer program did with a design of its own."""

    structure: str
    name: str | None = None
    design: Design | None = None
    depth_cm: int | None = None
    location: str | None = None
    since: str = ""

    @property
    def pages(self) -> tuple[str, ...]:
        """The addresses of its pages."""
        return () if self.design is None else tuple(f"{self.structure}/{page.path}" for page in self.design.pages)


def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """A key that sorts T2 before T10, and T07/2.1.1 before T07/10.1.1."""
    return tuple((0, int(part), "") if part.isdigit() else (1, 0, part) for part in re.findall(r"\d+|\D+", text))


_order = lru_cache(maxsize=4096)(natural)


def in_reading_order(structures: Collection[str]) -> list[str]:
    """Structures as a person lists them."""
    return sorted(structures, key=_order)


def structures_in(connection: Connection, nursery: int, names: Collection[str] | None = None) -> dict[str, Hung]:
    """Structures by name, in reading order: all that hang, or just these (one that nobody hung comes without a design)."""
    statement = select(col(StandingRow.subject), col(StandingRow.facts)).where(
        col(StandingRow.nursery) == nursery, col(StandingRow.sort) == "structure"
    )
    if names is not None and len(names) < 200:
        statement = statement.where(col(StandingRow.subject).in_([f"structure:{name}" for name in names]))
    hung = [_hung(subject, facts) for subject, facts in connection.execute(statement)]
    found = {one.structure: one for one in hung if names is None or one.structure in names}
    for name in names or ():
        found.setdefault(name, Hung(name))
    return {name: found[name] for name in in_reading_order(found)}


@lru_cache(maxsize=4096)
def _hung(subject: str, facts: str) -> Hung:
    standing = load_standing(subject, facts)
    design = None
    stated = standing.facts.get("design")
    if stated is not None:
        try:
            design = parse_design(stated.value)
        except DesignError:
            design = None
    return Hung(
        structure=split_subject(standing.subject)[1],
        name=standing.value("name"),
        design=design,
        depth_cm=standing.value("depth_cm"),
        location=standing.value("location"),
        since="" if stated is None else stated.survey,
    )
