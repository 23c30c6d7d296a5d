"""What there is to choose from: structures, surveys, people, genets."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from mobile.chart import design_of
from shared_schema.designs import Design
from shared_schema.fold import Standing

__all__ = ["Catalogue", "Genet", "Person", "Structure", "Survey"]


@dataclass(frozen=True, slots=True)
class Structure:
    """A structure in the water; without a design where nobody described it, or where its design makes no structure."""

    id: str
    name: str
    design: Design | None


@dataclass(frozen=True, slots=True)
class Survey:
    """A survey; without structures named it is of all of them. `opens` and `closes` are YYYY-MM-DD, or empty.

    `people` are the ids of those who are to go; none where the plan does not say.
    """

    id: str
    name: str
    opens: str
    closes: str
    structures: tuple[str, ...]
    people: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who may be named as the one who saw or typed. `role` is crew or supervisor."""

    id: str
    name: str
    role: str


@dataclass(frozen=True, slots=True)
class Genet:
    """A genet, or what is taken for one."""

    id: str
    name: str
    species: str


class Catalogue:
    """Lists from the standings of a sort of subject, each by its id."""

    def __init__(self, standings: Callable[[str], Mapping[str, Standing]]) -> None:
        self._standings = standings

    def structures(self) -> tuple[Structure, ...]:
        """Every structure that was hung or written about, by id."""
        return tuple(
            Structure(name, standing.value("name") or name, design_of(standing))
            for name, standing in self._standings("structure").items()
        )

    def surveys(self) -> tuple[Survey, ...]:
        """Every planned survey, first to latest."""
        return tuple(
            Survey(
                name,
                standing.value("name") or name,
                standing.value("opens") or "",
                standing.value("closes") or "",
                tuple(standing.value("structures") or ()),
                tuple(standing.value("people") or ()),
            )
            for name, standing in self._standings("survey").items()
        )

    def people(self) -> tuple[Person, ...]:
        """Everybody listed, by id."""
        return tuple(
            Person(name, standing.value("name") or name, standing.value("role") or "crew")
            for name, standing in self._standings("person").items()
        )

    def genets(self) -> tuple[Genet, ...]:
        """Every registered genet, by id."""
        return tuple(
            Genet(name, standing.value("name") or name, standing.value("species") or "")
            for name, standing in self._standings("genet").items()
        )
