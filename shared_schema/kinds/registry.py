"""What there is: genets, structures, people, surveys."""

from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from shared_schema.envelope import BaseEntry
from shared_schema.facts import Parameters, Word
from shared_schema.ids import Name

__all__ = ["GenetRegistered", "PersonListed", "StructureHung", "SurveyPlanned"]


class GenetRegistered(BaseEntry):
    """A genet, or what is taken for one until a laboratory says otherwise."""

    SORTS = ("genet",)
    STATES = ("name", "species", "aphia_id", "accession", "donor")
    kind: Literal["genet_registered"] = "genet_registered"
    name: Word
    species: Word | None = None
    aphia_id: Annotated[int, Field(ge=1)] | None = None
    accession: Word | None = None
    donor: Word | None = None


class StructureHung(BaseEntry):
    """A structure is in the water: its design in parameters (see designs.py), and where it is."""

    SORTS = ("structure",)
    STATES = ("name", "design", "depth_cm", "location")
    kind: Literal["structure_hung"] = "structure_hung"
    name: Word | None = None
    design: Parameters
    depth_cm: Annotated[int, Field(ge=0, le=100_000)] | None = None
    location: Word | None = None


class PersonListed(BaseEntry):
    """Somebody who may be named as the one who saw, typed or ruled."""

    SORTS = ("person",)
    STATES = ("name", "role")
    kind: Literal["person_listed"] = "person_listed"
    name: Word
    role: Literal["crew", "supervisor"] = "crew"


class SurveyPlanned(BaseEntry):
    """A survey: which structures, in which days (`opens` and `closes` as YYYY-MM-DD), and who goes, where that is said."""

    SORTS = ("survey",)
    STATES = ("name", "opens", "closes", "structures", "people")
    kind: Literal["survey_planned"] = "survey_planned"
    name: Word
    opens: Annotated[str, StringConstraints(pattern=r"^\d{4}-\d{2}-\d{2}$")]
    closes: Annotated[str, StringConstraints(pattern=r"^\d{4}-\d{2}-\d{2}$")]
    structures: tuple[Name, ...] = ()
    people: tuple[Name, ...] | None = None
