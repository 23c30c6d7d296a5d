"""The designs of nursery structures: parameters in, positions with coordinates, neighbours and reading order out.

A design on the wire is a JSON object that names itself and its unit, with lengths as digits in text:

    {"design":"line","unit":"m","length":"20","spacing":"0.5","first":"0","per_stretch":20,"rope":"horizontal"}

`design_json` writes every parameter, defaults too: a default that changes one day must not move corals that hang
already.
"""

import json
from collections.abc import Mapping
from typing import Annotated, Any, Final, TypeAlias

from pydantic import Field, JsonValue, TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from shared_schema.designs.block import Block
from shared_schema.designs.drawing import Drawing, Mark, Segment
from shared_schema.designs.frame import Frame
from shared_schema.designs.layout import COMFORTABLE_PAGE, Group, Label, Page, Position
from shared_schema.designs.lengths import Unit, to_mm
from shared_schema.designs.line import Line
from shared_schema.designs.structure import MOST_ON_A_PAGE, MOST_POSITIONS
from shared_schema.designs.table import Table
from shared_schema.designs.tree import Tree
from shared_schema.errors import DesignError

__all__ = [
    "COMFORTABLE_PAGE",
    "MOST_ON_A_PAGE",
    "MOST_POSITIONS",
    "Block",
    "Design",
    "Drawing",
    "Frame",
    "Group",
    "Label",
    "Line",
    "Mark",
    "Page",
    "Position",
    "Segment",
    "Table",
    "Tree",
    "Unit",
    "design_fields",
    "design_json",
    "parse_design",
    "to_mm",
]

Design: TypeAlias = Annotated[Tree | Line | Table | Frame | Block, Field(discriminator="design")]

_DESIGN: Final[TypeAdapter[Design]] = TypeAdapter(Design)

# Two of pydantic's messages do not say what to do.
_WORDING: Final = {
    "missing": "this parameter is missing: give it",
    "extra_forbidden": "no parameter of this design: leave it out",
}
# A default taken from a field that was refused is no mistake of its own.
_ECHOES: Final = frozenset({"default_factory_not_called"})


def parse_design(fields: Mapping[str, Any]) -> Design:
    """A design from its parameters, told apart by `design`. Raises DesignError, which names each field and value."""
    try:
        return _DESIGN.validate_python(fields)
    except ValidationError as error:
        complaints = [_complaint(each) for each in error.errors() if each["type"] not in _ECHOES]
        raise DesignError("no structure can be built to this design: " + "; ".join(complaints)) from error


def design_fields(design: Design) -> dict[str, JsonValue]:
    """The parameters of a design as an entry carries them: `parse_design` gives the same design back."""
    fields: dict[str, JsonValue] = {"design": design.design}
    fields.update(design.model_dump(mode="json"))
    return fields


def design_json(design: Design) -> str:
    """The parameters of a design as one line of JSON; equal designs give equal text."""
    return json.dumps(design_fields(design), separators=(",", ":"))


def _complaint(error: ErrorDetails) -> str:
    """What is wrong with one field, or with the design as a whole."""
    known = ", ".join(kind.model_fields["design"].default for kind in (Tree, Line, Table, Frame, Block))
    if error["type"] in {"union_tag_not_found", "union_tag_invalid", "model_attributes_type"}:
        return f"{error['input']!r:.80} does not name its design: give an object whose design is one of {known}"
    field = ".".join(str(part) for part in error["loc"][1:])  # the first part repeats the name of the design
    message = _WORDING.get(error["type"], error["msg"].removeprefix("Value error, "))
    if not field:
        return message
    return f"{field}: {message}" if error["type"] == "missing" else f"{field} = {error['input']!r:.80}: {message}"
