"""The small map of a structure: the structure from the side, and its pages as targets with their states.

Lengths are in millimetres from the lower left corner.
"""

import math
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from mobile.ruler import GAP, TARGET_LEAST
from shared_schema.designs import Design

__all__ = ["Box", "OverviewLayout", "OverviewPicture", "PageMark", "PageState", "lay_out_overview"]

PageState: TypeAlias = Literal["not_opened", "in_work", "signed_off", "not_reached"]

_LARGEST: Final = 24.0


@dataclass(frozen=True, slots=True)
class PageMark:
    """The state of one page; `path` as in shared_schema.designs, `open` where records of it disagree."""

    path: str
    state: PageState = "not_opened"
    open: bool = False


@dataclass(frozen=True, slots=True)
class OverviewPicture:
    """A structure's design, its pages in order, the page that is shown now, and the statuses that are known by path."""

    design: Design
    pages: tuple[PageMark, ...]
    here: str = ""
    statuses: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle with its lower left corner at x, y."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class OverviewLayout:
    """Where the map is, and the targets of the pages that are shown at once; `earlier` and `later` turn to the others.

    `first` is the index of the first page shown.
    """

    map: Box
    first: int
    targets: tuple[Box, ...]
    earlier: Box | None
    later: Box | None


def lay_out_overview(pages: int, here: int, width: float, height: float, *, wide: bool) -> OverviewLayout:
    """Room for a map and for targets of `pages` pages, of which the one with index `here` is among those shown.

    `wide` says that the structure is wider than high: then the map is on top of the targets, otherwise beside them.
    """
    columns = max(1, math.floor((width + GAP) / (TARGET_LEAST + GAP))) if wide else 1
    map_height, room, rows = height, height, 0
    for share in (1 / 3, 1 / 5) if wide else (1.0,):  # many pages leave the map less room
        map_height = min(height * share, width / 2) if wide else height
        room = height - map_height - GAP if wide else height
        rows = max(1, math.floor((room + GAP) / (TARGET_LEAST + GAP) + 1e-9))
        if rows * columns >= pages:
            break
    rows = min(rows, math.ceil(pages / columns))
    fits = rows * columns >= pages
    side = TARGET_LEAST if not fits else min(_LARGEST, (room + GAP) / rows - GAP)
    target = (width + GAP) / columns - GAP if wide else max(TARGET_LEAST, min(_LARGEST, width * 0.45))
    slots = [
        Box(column * (target + GAP), room - (row + 1) * side - row * GAP, target, side)
        for row in range(rows)
        for column in range(columns)
    ]
    map_box = Box(0, room + GAP, width, map_height) if wide else Box(target + GAP, 0, width - target - GAP, height)
    if fits:
        return OverviewLayout(map_box, 0, tuple(slots[:pages]), None, None)
    # A slot each for turning back and on, even where only one of them leads anywhere: targets keep their places.
    shown = max(1, len(slots) - 2)
    first = here // shown * shown
    return OverviewLayout(map_box, first, tuple(slots[1 : 1 + min(shown, pages - first)]), slots[0], slots[-1])
