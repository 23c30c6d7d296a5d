"""Flat pictures of pages and structures: points to tap and strokes behind them; for screens and SVG, not the wire."""

from dataclasses import dataclass
from typing import Final

from shared_schema.designs.layout import Layout, Page, Point

__all__ = ["Drawing", "Mark", "Segment", "draw_plan", "draw_side", "draw_slate"]

# How far a step away from the reader moves a point to the right and up in the side view. Straight from the side, the
# holes of an arm that points at the reader would fall on one point. Of the pairs tried, these keep the corals of
# the common tree farthest apart.
_RIGHT: Final = 0.40
_UP: Final = 0.17


@dataclass(frozen=True, slots=True)
class Mark:
    """Where a position is drawn."""

    path: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Segment:
    """A part of the structure: "trunk", "arm", "rope", "row" or "edge"."""

    kind: str
    x1: float
    y1: float
    x2: float
    y2: float


@dataclass(frozen=True, slots=True)
class Drawing:
    """Marks in reading order, and segments behind them; y points up unless `fit` turned it."""

    marks: tuple[Mark, ...]
    segments: tuple[Segment, ...]

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """The smallest x, smallest y, largest x and largest y of all that is drawn."""
        xs = [mark.x for mark in self.marks] + [x for segment in self.segments for x in (segment.x1, segment.x2)]
        ys = [mark.y for mark in self.marks] + [y for segment in self.segments for y in (segment.y1, segment.y2)]
        return min(xs), min(ys), max(xs), max(ys)

    def fit(self, width: float, height: float, margin: float = 0.0, *, y_down: bool = False) -> "Drawing":
        """The drawing undistorted in the middle of a box from (0, 0) to (width, height), as large as the margin allows.

        `y_down` for SVG. Raises ValueError where the margins leave no room.
        """
        if min(width, height) <= 2 * margin or margin < 0:
            raise ValueError(f"a box of {width} x {height} with a margin of {margin} leaves no room: make it larger")
        left, bottom, right, top = self.bounds
        rooms = ((width - 2 * margin, right - left), (height - 2 * margin, top - bottom))
        scale = min((room / span for room, span in rooms if span > 0), default=1.0)
        turn = -scale if y_down else scale

        def place(x: float, y: float) -> tuple[float, float]:
            return width / 2 + (x - (left + right) / 2) * scale, height / 2 + (y - (bottom + top) / 2) * turn

        return Drawing(
            tuple(Mark(mark.path, *place(mark.x, mark.y)) for mark in self.marks),
            tuple(Segment(part.kind, *place(part.x1, part.y1), *place(part.x2, part.y2)) for part in self.segments),
        )


def draw_plan(layout: Layout, page: Page) -> Drawing:
    """A page to scale, in mm: seen from above, or from the front where the structure hangs upright."""

    def flat(point: Point) -> tuple[float, float]:
        x, y, z = point
        return x, z if layout.upright else y

    return Drawing(
        tuple(Mark(each.path, *flat((float(each.x), float(each.y), float(each.z)))) for each in page.positions),
        tuple(Segment(part.kind, *flat(part.start), *flat(part.end)) for part in layout.strokes if part.page == page.path),
    )


def draw_slate(page: Page, wide: int) -> Drawing:
    """A page as a slate lists it, one unit apart: a line for each group, from the top, broken after `wide` marks."""
    marks: list[Mark] = []
    line = 0
    for group in page.groups:
        for index, position in enumerate(group.positions):
            down, across = divmod(index, wide)
            marks.append(Mark(position.path, float(across), -float(line + down)))
        line += -(-len(group.positions) // wide)
    return Drawing(tuple(marks), ())


def draw_side(layout: Layout) -> Drawing:
    """The whole structure in mm, seen from the side and a little from above (oblique)."""

    def flat(point: Point) -> tuple[float, float]:
        x, y, z = point
        return x + _RIGHT * y, z + _UP * y

    return Drawing(
        tuple(Mark(each.path, *flat((float(each.x), float(each.y), float(each.z)))) for each in layout.positions),
        tuple(Segment(part.kind, *flat(part.start), *flat(part.end)) for part in layout.strokes),
    )
