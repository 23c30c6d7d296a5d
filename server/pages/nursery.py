"""The whole nursery in a survey: its structures by location, and every position in one picture."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.pages.addresses import to_found, to_nursery_map, to_positions
from server.pages.door import Caller
from server.pages.paging import Part
from server.pages.panorama import Panorama, draw_panorama
from server.pages.position_rows import Counted, write_rows
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.stops import stops_through
from server.pages.surveys import PageNumber
from server.pages.swatches import MEASURE_WORDS, Key, Swatch, key_of
from server.review.calendar import Plan
from server.review.coloured import Coloured, Measure, look_over_nursery
from server.review.panoramas import Spread, spread_out
from server.review.sightings import Condition, list_sightings
from server.store.record import RecordStore

__all__ = ["TILES_AT_ONCE", "draw_positions", "router"]

router = APIRouter()

TILES_AT_ONCE: Final = 50
LISTED_AT_ONCE: Final = 100

Counts = Sequence[tuple[Swatch, int]]


@router.get("/surveys/{survey}/map")
def show_nursery_map(
    request: Request, store: Record, visitor: Caller, survey: str, by: Measure | None = None, page: PageNumber = 1
) -> Response:
    """Every structure as a tile at its location, by condition or by something else."""
    found = look_over_nursery(store, survey, by, (page - 1) * TILES_AT_ONCE, TILES_AT_ONCE)
    key = (
        None if by is None else key_of(by, (value for several in found.locations.values() for one in several for value in one.mine))
    )
    context: dict[str, Any] = {
        "found": found,
        "by": by,
        "key": key,
        "tiles": {place: [(one, _counts(one, key)) for one in several] for place, several in found.locations.items()},
        "part": Part(page, TILES_AT_ONCE, found.total),
        "stops": stops_through(store, to_nursery_map, by),
        "MEASURE_WORDS": MEASURE_WORDS,
    }
    return render(request, "nursery_map.html", visitor, context)


def _counts(one: Coloured, key: Key | None) -> Counts:
    return () if key is None else key.counts(one.values.get(each.subject) for each in one.map.sightings)


@dataclass(frozen=True, slots=True)
class Picture:
    """Every position drawn, and counted by structure; `total` all that hang there."""

    drawn: Panorama
    counted: Sequence[Counted]
    total: int


def _draw(spreads: Sequence[Spread], before: Picture | None) -> Picture:
    counted = [(one.location, one.structure, {key: paths.count(" ") + 1 for key, paths in one.found.items()}) for one in spreads]
    drawn = draw_panorama(spreads, None if before is None else before.drawn)
    return Picture(drawn, counted, sum(sum(found.values()) for _, _, found in counted))


def _sum(picture: Picture) -> Mapping[str, int]:
    """condition -> how many, of what the picture has no position for too."""
    many: Counter[str] = Counter()
    for _, _, found in picture.counted:
        for key, count in found.items():
            many[key] += count
    return many


def draw_positions(store: RecordStore, survey: str) -> tuple[Plan, Picture]:
    """A survey's plan, and every position of it by condition. Raises NothingSuch."""
    return spread_out(store, survey, _draw)


@router.get("/surveys/{survey}/positions")
def show_positions(  # all of them from the address
    request: Request, store: Record, visitor: Caller, survey: str, status: Condition | None = None, page: PageNumber = 1
) -> Response:
    """Every position by condition, in one picture; or those in one condition, in a list."""
    if status is not None:
        found = list_sightings(store, survey, status, (page - 1) * LISTED_AT_ONCE, LISTED_AT_ONCE)
        listed = {
            "found": found,
            "status": status,
            "part": Part(page, LISTED_AT_ONCE, found.total),
            "stops": stops_through(store, lambda stop: to_found(stop, status)),
        }
        return render(request, "positions_listed.html", visitor, listed)
    plan, picture = draw_positions(store, survey)
    context = {
        "plan": plan,
        "drawn": picture.drawn,
        "total": picture.total,
        "rows": write_rows(store, survey, picture.drawn, picture.counted),
        "many": _sum(picture),
        "stops": stops_through(store, to_positions),
    }
    return render(request, "positions.html", visitor, context)
