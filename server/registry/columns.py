"""Which columns a nursery file may have, and what each becomes."""

import re
from dataclasses import dataclass
from typing import Final

from server.registry.cells import (
    Reader,
    read_centimetres,
    read_choice,
    read_date,
    read_design_fields,
    read_metres,
    read_name,
    read_names,
    read_place,
    read_survey,
    read_whole,
    read_word,
)
from shared_schema.entries import FragmentPlanted, GenetRegistered, PersonListed, StructureHung, SurveyPlanned
from shared_schema.envelope import BaseEntry

__all__ = ["ID", "PLANTED", "RECORD", "SORTS", "Column", "Sort", "plain_heading"]

RECORD: Final = "record"
"""The heading under which a file of several sorts says what each row is."""
ID: Final = "id"
"""The heading under which such a file gives each row's own name."""
PLANTED: Final = "planted"
"""The field that is no fact of its own: the day on which a fragment was planted, when that was observed."""


@dataclass(frozen=True, slots=True)
class Column:
    """`heading` as documented, the `field` of the entry that it fills, and how its cells are read."""

    heading: str
    field: str
    read: Reader
    needed: bool = False


@dataclass(frozen=True, slots=True)
class Sort:
    """What a row can be: `name` is its word in the record column, and the heading of its own name in a file of one sort."""

    name: str
    several: str
    kind: type[BaseEntry]
    read_id: Reader
    columns: dict[str, Column]


def _sort(name: str, several: str, kind: type[BaseEntry], *columns: Column, read_id: Reader = read_name) -> Sort:
    return Sort(name, several, kind, read_id, {column.heading: column for column in columns})


_APHIA: Final = read_whole(1, 99_999_999, "AphiaID")
_LENGTH: Final = read_whole(0, 100_000, "mm")

# In this order: a fragment has a genet, a survey has structures, so the first of these headings tells the sort.
SORTS: Final[dict[str, Sort]] = {
    sort.name: sort
    for sort in (
        _sort(
            "fragment",
            "fragments",
            FragmentPlanted,
            Column("position", "place", read_place, needed=True),
            Column("genet", "genet", read_name),
            Column("parent", "parent", read_name),
            Column("donor", "donor", read_word),
            Column("accession", "accession", read_word),
            Column("tag", "tag", read_word),
            Column("length_mm", "length_mm", _LENGTH),
            Column("planted", PLANTED, read_date),
        ),
        _sort(
            "survey",
            "surveys",
            SurveyPlanned,
            Column("name", "name", read_word, needed=True),
            Column("opens", "opens", read_date, needed=True),
            Column("closes", "closes", read_date, needed=True),
            Column("structures", "structures", read_names),
            read_id=read_survey,
        ),
        _sort(
            "structure",
            "structures",
            StructureHung,
            Column("design", "design", read_design_fields, needed=True),
            Column("name", "name", read_word),
            Column("depth_cm", "depth_cm", read_centimetres),
            Column("depth_m", "depth_cm", read_metres),
            Column("location", "location", read_word),
        ),
        _sort(
            "genet",
            "genets",
            GenetRegistered,
            Column("name", "name", read_word),
            Column("species", "species", read_word),
            Column("aphia_id", "aphia_id", _APHIA),
            Column("accession", "accession", read_word),
            Column("donor", "donor", read_word),
        ),
        _sort(
            "person",
            "people",
            PersonListed,
            Column("name", "name", read_word, needed=True),
            Column("role", "role", read_choice("crew", "supervisor")),
        ),
    )
}


def plain_heading(text: str) -> str:
    """A heading as it is compared: ` Length (mm) ` and `length_mm` are the same."""
    return re.sub(r"[\W_]+", "_", text.casefold()).strip("_")
