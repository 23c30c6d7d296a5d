"""Every position of the nursery in one picture: one SVG path for each condition, whatever their number.

A path for each coral, or a title for each, takes a browser seconds where there are a hundred thousand. Lengths are in
tenths of a pixel, whole numbers: half of what is sent is coordinates.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
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
class Stroke:
    """What one structure adds to the layers: condition -> path and how many corals, with marks of `size`."""

    spread: Spread
    size: int
    drawn: Mapping[str, tuple[str, int]]


@dataclass(frozen=True, slots=True)
class Panorama:
    """The picture, in tenths of a pixel. `rows` are (y, location) above the structures there."""

    width: int
    height: int
    layers: tuple[Layer, ...]
    cells: tuple[Cell, ...]
    rows: tuple[tuple[int, str], ...]
    strokes: Mapping[str, Stroke]


@dataclass(frozen=True, slots=True)
class _Sketch:
    at: Mapping[str, tuple[int, int]]
    size: int


def draw_panorama(spreads: Sequence[Spread], before: Panorama | None = None) -> Panorama:
    """The picture of structures that stand in order of location; what is as it was `before` is taken from there."""
    per_row = 8 if len(spreads) <= 60 else 12 if len(spreads) <= 240 else 18
    cell, tall = ACROSS // per_row, ACROSS // per_row * 5 // 6
    cells: list[Cell] = []
    rows: list[tuple[int, str]] = []
    column, y, location = 0, 0, None
    for spread in spreads:
        if spread.location != location:
            y += 0 if location is None else tall + LABEL
            rows.append((y * FINE, spread.location))
            location, column = spread.location, 0
            y += 18
        elif column == per_row:
            column, y = 0, y + tall + LABEL
        cells.append(Cell(spread.structure, column * cell * FINE, y * FINE))
        column += 1
    sketches = {one.structure: _sketch(one.design, cell - 6, tall) for one in spreads if one.design is not None}
    size = min((sketch.size for sketch in sketches.values()), default=90)
    held = before.strokes if before is not None and before.cells == tuple(cells) else {}
    strokes: dict[str, Stroke] = {}
    for spread, spot in zip(spreads, cells, strict=True):
        if spread.structure in sketches:
            stroke = held.get(spread.structure)
            if stroke is None or stroke.spread is not spread or stroke.size != size:
                stroke = _stroke(spread, sketches[spread.structure], (spot.x, spot.y + LABEL * FINE), size)
            strokes[spread.structure] = stroke
    height = (y + tall + LABEL) * FINE
    return Panorama(ACROSS * FINE, height, _layers(strokes.values(), size), tuple(cells), tuple(rows), strokes)


def _stroke(spread: Spread, sketch: _Sketch, at: tuple[int, int], size: int) -> Stroke:
    drawn: dict[str, tuple[str, int]] = {}
    for look in (*LOOKS, UNSEEN):
        dots = look.key == "alive"
        moves = _moves(sketch, spread.found.get(look.key, "").split(), *at, dots)
        if moves:
            shape = "" if dots else shape_path(look.key, size // 2)
            drawn[look.key] = ("".join(move + shape for move in moves), len(moves))
    return Stroke(spread, size, drawn)


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


def _layers(strokes: Collection[Stroke], size: int) -> tuple[Layer, ...]:
    layers = []
    for look in (*LOOKS, UNSEEN):
        drawn = [stroke.drawn[look.key] for stroke in strokes if look.key in stroke.drawn]
        if drawn:
            path, many = "".join(path for path, _ in drawn), sum(many for _, many in drawn)
            layers.append(Layer(look, path, size, dots=look.key == "alive", many=many))
    return tuple(layers)


@lru_cache(maxsize=64)
def _sketch(design: Design, width: int, height: int) -> _Sketch:
    size = max(20, min(90, round(width * FINE / 20)))
    drawing = flat_view(design).fit(width * FINE, height * FINE, size * 0.8, y_down=True)
    at = {mark.path: (round(mark.x), round(mark.y)) for mark in drawing.marks}
    return _Sketch(at, size)
