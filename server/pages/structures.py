"""One structure in a survey: its map, and the same as a table."""

from dataclasses import dataclass
from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.pages.door import Caller
from server.pages.drawings import Ground, grounds_of, side_of
from server.pages.record import Record
from server.pages.rendering import render
from server.review.charts import StructureChart, read_chart
from server.review.roster import read_roster
from shared_schema.designs import Tree

__all__ = ["Sheet", "router"]

router = APIRouter()

BESIDE: Final = ("bleaching", "predator", "signs", "overgrowth", "breakage", "tie", "tag_state", "length_mm", "tle_mm")
"""The facts that the table lists beside condition and live tissue, where somebody stated them."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """The drawings of a structure: the grounds to scale, and a tree's side view too."""

    grounds: tuple[Ground, ...]
    side: Ground | None


def _sheet(chart: StructureChart) -> Sheet | None:
    design = chart.map.hung.design
    if design is None:
        return None
    return Sheet(grounds_of(design), side_of(design, 300.0, 320.0) if isinstance(design, Tree) else None)


@router.get("/surveys/{survey}/structures/{structure}")
def show_structure(request: Request, store: Record, visitor: Caller, survey: str, structure: str) -> Response:
    """The map of a structure as a survey found it."""
    chart = read_chart(store, survey, structure)
    context = {"chart": chart, "sheet": _sheet(chart), "roster": read_roster(store), "extra": BESIDE}
    return render(request, "structure.html", visitor, context)
