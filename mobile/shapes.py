"""The outlines of condition signs, as points round (0, 0) that fit a square from -1 to 1.

Each is seen whole from its centre, so that a fan of triangles from there fills it.
"""

import math
from collections.abc import Mapping
from typing import Final, Literal, NamedTuple, TypeAlias

__all__ = ["SHAPES", "Point", "Shape", "ShapeName"]

Point: TypeAlias = tuple[float, float]
ShapeName: TypeAlias = Literal["disc", "dome", "diamond", "bitten", "plus", "hexagon", "pennant", "lozenge", "dashes"]


class Shape(NamedTuple):
    """Points anticlockwise; the letter stands `lift` above the centre and is `letter` high, in halves of the shape's size.

    `dashed` shapes are drawn as a broken line and not filled.
    """

    points: tuple[Point, ...]
    lift: float = 0.0
    letter: float = 1.0
    dashed: bool = False


def _arc(x: float, y: float, radius: float, start: float, end: float, steps: int) -> list[Point]:
    """Points on a circle from one angle to another, in degrees."""
    angles = (math.radians(start + (end - start) * step / steps) for step in range(steps + 1))
    return [(x + radius * math.cos(angle), y + radius * math.sin(angle)) for angle in angles]


def _disc(radius: float) -> tuple[Point, ...]:
    return tuple(_arc(0, 0, radius, 0, 360, 40)[:-1])


def _dome() -> tuple[Point, ...]:
    return (*_arc(0, -0.12, 1.0, 0, 180, 24), (-1.0, -0.78), (1.0, -0.78))


def _bitten() -> tuple[Point, ...]:
    bite = _arc(0.9, 0.9, 0.72, 270, 180, 10)
    return ((-0.9, -0.9), (0.9, -0.9), *bite, (-0.9, 0.9))


def _plus() -> tuple[Point, ...]:
    thin, far = 0.48, 1.0
    quarter = [(far, -thin), (far, thin), (thin, thin)]
    points: list[Point] = []
    for turn in range(4):
        cos, sin = (1, 0, -1, 0)[turn], (0, 1, 0, -1)[turn]
        points += [(x * cos - y * sin, x * sin + y * cos) for x, y in quarter]
    return tuple(points)


def _hexagon() -> tuple[Point, ...]:
    return tuple(_arc(0, 0, 1.0, 30, 390, 6)[:-1])


def _lozenge() -> tuple[Point, ...]:
    return (*_arc(0.4, 0, 0.6, -90, 90, 16), *_arc(-0.4, 0, 0.6, 90, 270, 16))


SHAPES: Final[Mapping[ShapeName, Shape]] = {
    "disc": Shape(_disc(0.96)),
    "dome": Shape(_dome(), lift=-0.05),
    "diamond": Shape(((1.02, 0), (0, 1.02), (-1.02, 0), (0, -1.02)), letter=0.86),
    "bitten": Shape(_bitten(), lift=-0.12),
    "plus": Shape(_plus()),
    "hexagon": Shape(_hexagon()),
    "pennant": Shape(((0, -1.0), (1.08, 0.86), (-1.08, 0.86)), lift=0.3, letter=0.86),
    "lozenge": Shape(_lozenge()),
    "dashes": Shape(_disc(0.9), dashed=True),
}
"""By name: `pennant` points down, `bitten` is a square with a bite out of its corner."""
