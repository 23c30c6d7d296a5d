"""One structure in a survey: its map, and the same as a table."""

from dataclasses import dataclass
from typing import Any, Final

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.pages.addresses import to_structure
from server.pages.door import Caller
from server.pages.drawings import Ground, grounds_of, side_of
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.stops import stops_through
from server.pages.swatches import MEASURE_WORDS, key_of, measured_words
from server.review.charts import StructureChart, read_chart
from server.review.coloured import Measure, measure_structure
from server.review.roster import read_roster
from server.store.record import RecordStore
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
def show_structure(  # all of them from the address
    request: Request, store: Record, visitor: Caller, survey: str, structure: str, by: Measure | None = None
) -> Response:
    """The map of a structure as a survey found it, by condition or by something else."""
    chart = read_chart(store, survey, structure)
    context = {
        "chart": chart,
        "sheet": _sheet(chart),
        "roster": read_roster(store),
        "extra": BESIDE,
        "by": by,
        "stops": stops_through(store, lambda stop: to_structure(stop, structure), by),
        "MEASURE_WORDS": MEASURE_WORDS,
    }
    if by is None:
        return render(request, "structure.html", visitor, context)
    return render(request, "structure_by.html", visitor, {**context, **_coloured(store, chart, by)})


def _coloured(store: RecordStore, chart: StructureChart, by: Measure) -> dict[str, Any]:
    coloured, until = measure_structure(store, chart.plan.survey, chart.map, by)
    key = key_of(by, coloured.mine)
    shown = {}
    for path, one in chart.map.at.items():
        measured = coloured.values.get(one.subject)
        shown[path] = (one, key.of(measured), measured_words(measured, by))
    return {
        "coloured": coloured,
        "until": until,
        "key": key,
        "counts": key.counts(coloured.values.get(one.subject) for one in chart.map.sightings),
        "shown": shown,
        "measured_words": measured_words,
    }
