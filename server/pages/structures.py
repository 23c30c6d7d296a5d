"""One structure in a survey: its map, and the same as a table."""

from dataclasses import dataclass
from typing import Annotated, Any, Final

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response

from server.pages.addresses import to_structure
from server.pages.door import Caller
from server.pages.drawings import Ground, grounds_of, page_called, side_of
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.stops import stops_through
from server.pages.swatches import MEASURE_WORDS, key_of, measured_words
from server.review.charts import StructureChart, read_chart
from server.review.coloured import Measure, measure_structure
from server.review.maps import Sighting
from server.review.roster import read_roster
from server.review.sightings import Condition, is_in
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


@dataclass(frozen=True, slots=True)
class Some:
    """What the table is of: all, or what is in a condition, on a page (by its path), or `of` a class of a measure."""

    status: Condition | None = None
    on: str = ""
    of: str = ""

    def takes(self, one: Sighting) -> bool:
        """Whether something is in the condition and on the page."""
        here = not self.on or one.path.partition(".")[0] == self.on
        return here and (self.status is None or is_in(one.status, self.status))


def _sheet(chart: StructureChart) -> Sheet | None:
    design = chart.map.hung.design
    if design is None:
        return None
    return Sheet(grounds_of(design), side_of(design, 300.0, 320.0) if isinstance(design, Tree) else None)


@router.get("/surveys/{survey}/structures/{structure}")
def show_structure(  # all of them from the address
    request: Request,
    store: Record,
    visitor: Caller,
    survey: str,
    structure: str,
    some: Annotated[Some, Depends()],
    by: Measure | None = None,
) -> Response:
    """The map of a structure as a survey found it, by condition or by something else, and a table of all or some of it."""
    chart = read_chart(store, survey, structure)
    context = {
        "chart": chart,
        "sheet": _sheet(chart),
        "roster": read_roster(store),
        "extra": BESIDE,
        "by": by,
        "stops": stops_through(store, lambda stop: to_structure(stop, structure), by),
        "MEASURE_WORDS": MEASURE_WORDS,
        "page_called": page_called,
    }
    if by is None:
        rows = [row for row in chart.rows if some.takes(row.sighting)]
        return render(request, "structure.html", visitor, {**context, "rows": rows, "some": some})
    return render(request, "structure_by.html", visitor, {**context, **_coloured(store, chart, by, some.of)})


def _coloured(store: RecordStore, chart: StructureChart, by: Measure, of: str) -> dict[str, Any]:
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
        "rows": [one for one in coloured.rows if not of or key.of(coloured.values.get(one.subject)).of == of],
        "of": next((one for one in key.swatches if one.of == of), None),
        "measured_words": measured_words,
    }
