"""Structures drawn to scale, large enough that each position carries its letter: what a map on a page is made of.

Lengths are in CSS pixels, y pointing down. The geometry of a design is worked out once, however often it is shown.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import hypot
from typing import Final, Literal

from server.pages.wording import gettext
from shared_schema.designs import Design, Drawing, Line, Mark, Page, Position, Segment, Tree

__all__ = ["MARK", "Caption", "Ground", "grounds_of", "side_of"]

STEP: Final = 31.0
"""From one mark to the next at the closest."""
MARK: Final = 25.0
"""How wide a mark is."""
MARGIN: Final = 34.0
WIDEST: Final = 1180.0


@dataclass(frozen=True, slots=True)
class Caption:
    """A number beside the drawing, as of an arm or a row."""

    x: float
    y: float
    text: str


@dataclass(frozen=True, slots=True)
class Ground:
    """A drawing without what hangs there: its pages (one for a level or stretch, several for a table), where each path is.

    `hub` is where the trunk is seen from above, None where there is none.
    """

    pages: tuple[Page, ...]
    width: float
    height: float
    spots: Mapping[str, tuple[float, float]]
    strokes: tuple[Segment, ...]
    captions: tuple[Caption, ...]
    hub: tuple[float, float] | None = None


@lru_cache(maxsize=256)
def grounds_of(design: Design, by_page: bool = False) -> tuple[Ground, ...]:
    """A tree level by level, a line stretch by stretch; whatever is flat as one, unless it is too wide or `by_page`."""
    apart = by_page or isinstance(design, Tree | Line)
    if not apart:
        whole = _ground(design, design.pages)
        if whole.width <= WIDEST:
            return (whole,)
    return tuple(_ground(design, [page]) for page in design.pages)


@lru_cache(maxsize=64)
def side_of(design: Design, width: float, height: float) -> Ground:
    """The whole structure from the side, fitted into a box; too small for letters."""
    fitted = design.side_view().fit(width, height, 12, y_down=True)
    spots = {mark.path: (mark.x, mark.y) for mark in fitted.marks}
    return Ground(design.pages, width, height, spots, fitted.segments, ())


def _ground(design: Design, pages: Sequence[Page]) -> Ground:
    plans = [design.plan(page.path) for page in pages]
    raw = Drawing(
        tuple(mark for plan in plans for mark in plan.marks),
        tuple(part for plan in plans for part in plan.segments),
    )
    positions = [position for page in pages for position in page.positions]
    scale = STEP / _closest(raw.marks, positions)
    left, bottom, right, top = raw.bounds
    width, height = (right - left) * scale + 2 * MARGIN, (top - bottom) * scale + 2 * MARGIN

    def at(x: float, y: float) -> tuple[float, float]:
        return round((x - left) * scale + MARGIN, 1), round((top - y) * scale + MARGIN, 1)

    spots = {mark.path: at(mark.x, mark.y) for mark in raw.marks}
    strokes = tuple(Segment(part.kind, *at(part.x1, part.y1), *at(part.x2, part.y2)) for part in raw.segments)
    hub = at(0, 0) if isinstance(design, Tree) else None
    captions = tuple(_arm_captions(pages, spots, hub) if hub else _row_captions(pages, spots))
    return Ground(tuple(pages), round(width, 1), round(height, 1), spots, strokes, captions, hub)


def _closest(marks: Iterable[Mark], positions: Sequence[Position]) -> float:
    """The least distance between neighbours that are drawn together; 1 where nothing has a neighbour."""
    at = {mark.path: (mark.x, mark.y) for mark in marks}
    apart = (
        hypot(at[one.path][0] - at[other][0], at[one.path][1] - at[other][1])
        for one in positions
        for other in one.neighbours
        if other in at
    )
    return min(apart, default=1.0)


def _arm_captions(pages: Sequence[Page], spots: Mapping[str, tuple[float, float]], hub: tuple[float, float]) -> Iterable[Caption]:
    for group in pages[0].groups:
        x, y = spots[group.positions[-1].path]
        far = hypot(x - hub[0], y - hub[1])
        out = (far + MARK * 1.0) / far
        yield Caption(hub[0] + (x - hub[0]) * out, hub[1] + (y - hub[1]) * out, str(group.number))


def _row_captions(pages: Sequence[Page], spots: Mapping[str, tuple[float, float]]) -> Iterable[Caption]:
    """The row before its first mark; places along the edge, every fifth."""
    for page in pages:
        for group in page.groups:
            x, y = spots[group.positions[0].path]
            if len(pages) > 1 or len(page.groups) > 1:
                yield Caption(x - MARK, y, str(group.number))
    first = pages[0].groups[0].positions
    along = spots[first[0].path][1] == spots[first[-1].path][1]
    for index, position in enumerate(first, 1):
        if index % 5 in (0, 1):
            x, y = spots[position.path]
            yield Caption(x, y - MARK * 0.9, _number(position)) if along else Caption(x - MARK, y, _number(position))


def _number(position: Position) -> str:
    return str(position.labels[-1].number)


def page_words(page: Page) -> str:
    """What a page is called: level 3, stretch 2, row 5."""
    words: Mapping[Literal["level", "stretch", "row"], str] = {
        "level": gettext("Level %(number)s"),
        "stretch": gettext("Stretch %(number)s"),
        "row": gettext("Row %(number)s"),
    }
    return words[page.kind] % {"number": page.path}


def page_called(design: Design | None, path: str) -> str:
    """What a page of a design is called; its number where the design has none such."""
    return next((page_words(page) for page in (design.pages if design else ()) if page.path == path), path)
