"""Every position of the nursery in one picture: one SVG path for each condition, whatever their number.

A path for each coral, or a title for each, takes a browser seconds where there are a hundred thousand. Lengths are in
tenths of a pixel, whole numbers: half of what is sent is coordinates.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Final

from server.pages.conditions import LOOKS, UNSEEN, Look
from server.pages.portraits import flat_view, shape_path
from server.review.panoramas import Spread
from shared_schema.designs import Design

__all__ = ["Cell", "Layer", "Panorama", "draw_panorama"]

ACROSS: Final = 1200
LABEL: Final = 13
FINE: Final = 10


@dataclass(frozen=True, slots=True)
class Layer:
    """All corals of one condition. `dots`: round ends of a stroke, without an outline; `size` is the width of a mark."""

    look: Look
    path: str
    size: int
    dots: bool
    many: int


@dataclass(frozen=True, slots=True)
class Cell:
    """Where a structure is in the picture."""

    structure: str
    x: int
    y: int


@dataclass(frozen=True, slots=True)
class Panorama:
    """The picture, in tenths of a pixel. `rows` are (y, location) above the structures there."""

    width: int
    height: int
    layers: tuple[Layer, ...]
    cells: tuple[Cell, ...]
    rows: tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True)
class _Sketch:
    at: Mapping[str, tuple[int, int]]
    size: int


def draw_panorama(spreads: Sequence[Spread]) -> Panorama:
    """The picture of structures that stand in order of location."""
    per_row = 8 if len(spreads) <= 60 else 12 if len(spreads) <= 240 else 18
    cell, tall = ACROSS // per_row, ACROSS // per_row * 5 // 6
    cells: list[Cell] = []
    rows: list[tuple[int, str]] = []
    moves: defaultdict[str, list[str]] = defaultdict(list)
    counts: defaultdict[str, int] = defaultdict(int)
    column, y, location, size = 0, 0, None, 90
    for spread in spreads:
        if spread.location != location:
            y += 0 if location is None else tall + LABEL
            rows.append((y * FINE, spread.location))
            location, column = spread.location, 0
            y += 18
        elif column == per_row:
            column, y = 0, y + tall + LABEL
        x = column * cell
        cells.append(Cell(spread.structure, x * FINE, y * FINE))
        column += 1
        if spread.design is not None:
            sketch = _sketch(spread.design, cell - 6, tall)
            size = min(size, sketch.size)
            for status, paths in spread.found.items():
                several = _moves(sketch, paths, x * FINE, (y + LABEL) * FINE, status == "alive")
                moves[status] += several
                counts[status] += len(several)
    layers = [_layer(look, moves[look.key], counts[look.key], size) for look in (*LOOKS, UNSEEN) if moves.get(look.key)]
    return Panorama(ACROSS * FINE, (y + tall + LABEL) * FINE, tuple(layers), tuple(cells), tuple(rows))


def _moves(sketch: _Sketch, paths: Iterable[str], x: int, y: int, relative: bool) -> list[str]:
    """Where each coral is: for dots from one to the next, which is shorter."""
    spots = [sketch.at[path] for path in paths if path in sketch.at]
    if not spots:
        return []
    if not relative:
        return [f"M{x + dx} {y + dy}" for dx, dy in spots]
    first = spots[0]
    steps = [f"m{dx - px} {dy - py}h0" for (px, py), (dx, dy) in pairwise(spots)]
    return [f"M{x + first[0]} {y + first[1]}h0", *steps]


def _layer(look: Look, moves: Sequence[str], many: int, size: int) -> Layer:
    if look.key == "alive":
        return Layer(look, "".join(moves), size, dots=True, many=many)
    shape = shape_path(look.key, size // 2)
    return Layer(look, "".join(move + shape for move in moves), size, dots=False, many=many)


@lru_cache(maxsize=64)
def _sketch(design: Design, width: int, height: int) -> _Sketch:
    size = max(20, min(90, round(width * FINE / 20)))
    drawing = flat_view(design).fit(width * FINE, height * FINE, size * 0.8, y_down=True)
    at = {mark.path: (round(mark.x), round(mark.y)) for mark in drawing.marks}
    return _Sketch(at, size)
