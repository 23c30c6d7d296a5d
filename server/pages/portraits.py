"""Structures drawn small, for many on one page.

One SVG path for each condition: a shape of its own for each of ten thousand corals takes a browser seconds.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import hypot
from typing import Final

from server.pages.conditions import UNSEEN, Look, look_of
from server.review.maps import StructureMap
from shared_schema.designs import Design, Drawing, Line, Mark, Tree

__all__ = ["Layer", "Portrait", "flat_view", "portray", "shape_path"]

WIDTH: Final = 190.0
HEIGHT: Final = 150.0


@dataclass(frozen=True, slots=True)
class Layer:
    """All marks of one condition as one path. `dots`: drawn as round ends of a stroke `size` wide, without an outline."""

    look: Look
    path: str
    size: float
    dots: bool


@dataclass(frozen=True, slots=True)
class Portrait:
    """A small drawing. `design` is equal for equal designs, which share one `body`.

    `rings` goes round what is in question, `empty` marks positions where nothing hangs.
    """

    width: float
    height: float
    design: int
    body: str
    layers: tuple[Layer, ...]
    empty: str
    rings: str
    ring: float


@dataclass(frozen=True, slots=True)
class _Sketch:
    at: Mapping[str, str]
    body: str
    radius: float


def portray(found: StructureMap) -> Portrait | None:
    """The small drawing of a structure, None where it has no design."""
    design = found.hung.design
    if design is None:
        return None
    sketch = _sketch(design)
    shown = found.at
    moves: defaultdict[str, list[str]] = defaultdict(list)
    rings: list[str] = []
    for path, one in shown.items():
        move = sketch.at.get(path)
        if move is not None:
            moves[one.status or ""].append(move)
            if one.open:
                rings.append(move)
    empty = "".join(f"{move}h0" for path, move in sketch.at.items() if path not in shown)
    layers = [_layer(look_of(status or None), several, sketch.radius) for status, several in sorted(moves.items())]
    ring = sketch.radius + 2.4
    return Portrait(WIDTH, HEIGHT, id(sketch), sketch.body, tuple(layers), empty, "".join(m + _ring(ring) for m in rings), ring)


def _layer(look: Look, moves: list[str], radius: float) -> Layer:
    if look.key == "alive":
        return Layer(look, "".join(f"{move}h0" for move in moves), round(2 * radius, 1), dots=True)
    shape = shape_path(look.key, radius)
    return Layer(look, "".join(move + shape for move in moves), round(2 * radius, 1), dots=False)


@lru_cache(maxsize=64)
def _sketch(design: Design) -> _Sketch:
    drawing = flat_view(design).fit(WIDTH, HEIGHT, 10, y_down=True)
    at = {mark.path: f"M{mark.x:.1f} {mark.y:.1f}" for mark in drawing.marks}
    body = "".join(f"M{part.x1:.1f} {part.y1:.1f}L{part.x2:.1f} {part.y2:.1f}" for part in drawing.segments)
    return _Sketch(at, body, round(max(1.6, min(4.0, _closest(design, drawing) * 0.46)), 2))


def flat_view(design: Design) -> Drawing:
    """A tree from the side, a line stretch under stretch, anything flat from above."""
    if isinstance(design, Tree):
        return design.side_view()
    marks: list[Mark] = []
    plans = [design.plan(page.path) for page in design.pages]
    if not isinstance(design, Line):
        return Drawing(
            tuple(mark for plan in plans for mark in plan.marks), tuple(part for plan in plans for part in plan.segments)
        )
    for row, page in enumerate(design.pages):
        marks += [Mark(each.path, float(index), -2.2 * row) for index, each in enumerate(page.positions)]
    return Drawing(tuple(marks), ())


def _closest(design: Design, drawing: Drawing) -> float:
    at = {mark.path: (mark.x, mark.y) for mark in drawing.marks}
    return min(
        (
            hypot(at[one.path][0] - at[other][0], at[one.path][1] - at[other][1])
            for one in design.positions
            for other in one.neighbours
        ),
        default=8.0,
    )


def _ring(r: float) -> str:
    return f"m-{r:.1f} 0a{r:.1f} {r:.1f} 0 1 0 {2 * r:.1f} 0a{r:.1f} {r:.1f} 0 1 0-{2 * r:.1f} 0z"


def shape_path(key: str, radius: float) -> str:
    """The outline of a condition's shape round the present point, relative to it."""
    return _SHAPES[key](radius)


_SHAPES: Final = {
    "fading": lambda r: f"m-{r} {r}v-{r}a{r} {r} 0 0 1 {2 * r} 0v{r}z",
    "bleached": lambda r: (
        f"m0-{1.2 * r:.2f}l{1.2 * r:.2f} {1.2 * r:.2f}l-{1.2 * r:.2f} {1.2 * r:.2f}l-{1.2 * r:.2f}-{1.2 * r:.2f}z"
    ),
    "preyed_on": lambda r: f"m-{r}-{r}h{r}a{r} {r} 0 0 0 {r} {r}v{r}h-{2 * r}z",
    "sick": lambda r: f"m-{r / 2}-{r}h{r}v{r / 2}h{r / 2}v{r}h-{r / 2}v{r / 2}h-{r}v-{r / 2}h-{r / 2}v-{r}h{r / 2}z",
    "dead": lambda r: f"m-{1.15 * r:.2f} 0l{0.6 * r:.2f}-{r}h{1.1 * r:.2f}l{0.6 * r:.2f} {r}l-{0.6 * r:.2f} {r}h-{1.1 * r:.2f}z",
    "lost": lambda r: f"m-{1.15 * r:.2f}-{r}h{2.3 * r:.2f}l-{1.15 * r:.2f} {2.1 * r:.2f}z",
    "could_not_tell": lambda r: (
        f"m-{0.5 * r:.2f}-{0.7 * r:.2f}h{r}a{0.7 * r:.2f} {0.7 * r:.2f} 0 0 1 0 {1.4 * r:.2f}"
        f"h-{r}a{0.7 * r:.2f} {0.7 * r:.2f} 0 0 1 0-{1.4 * r:.2f}z"
    ),
    UNSEEN.key: _ring,
}
