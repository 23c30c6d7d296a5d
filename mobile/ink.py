"""Triangles with soft edges, for a canvas without multisampling.

Screens draw many small shapes. One mesh of vertices that carry their colours costs a twentieth of as many single
instructions, and a band of one pixel that fades out makes edges smooth. See `Ink.vertices` for the format.
"""

import math
from collections.abc import Sequence
from functools import lru_cache

from mobile.palette import Colour
from mobile.shapes import Point

__all__ = ["Ink"]

_SOFT = 0.6  # half of the fading edge, in pixels


class Ink:
    """Collects triangles. All lengths are in pixels, y points up.

    `vertices` has x, y, red, green, blue and opacity for each vertex; `indices` has three for each triangle.
    """

    def __init__(self) -> None:
        self.vertices: list[float] = []
        self.indices: list[int] = []

    def box(self, x: float, y: float, width: float, height: float, paint: Colour) -> None:
        """A filled rectangle with hard edges."""
        first = len(self.vertices) // 6
        for corner in ((x, y), (x + width, y), (x + width, y + height), (x, y + height)):
            self._vertex(corner, paint)
        self.indices += [first, first + 1, first + 2, first, first + 2, first + 3]

    def add(self, other: "Ink", x: float = 0, y: float = 0) -> None:
        """All that another one has, moved by x and y."""
        first, vertices = len(self.vertices) // 6, other.vertices
        if x or y:
            vertices = vertices[:]
            vertices[0::6] = [at + x for at in other.vertices[0::6]]
            vertices[1::6] = [at + y for at in other.vertices[1::6]]
        self.vertices += vertices
        self.indices += [first + index for index in other.indices]

    def slab(self, x: float, y: float, width: float, height: float, paint: Colour, edge: Colour, thick: float) -> None:
        """A rectangle with round corners, filled, and an edge `thick` wide on its inside."""
        self.add(_slab(width, height, paint, edge, thick), x, y)

    def slab_edge(self, x: float, y: float, width: float, height: float, thick: float, paint: Colour) -> None:
        """The edge alone."""
        self.add(_slab(width, height, None, paint, thick), x, y)

    def fan(self, centre: Point, points: Sequence[Point], paint: Colour) -> None:
        """A shape that is seen whole from its centre, filled."""
        first = len(self.vertices) // 6
        self._vertex(centre, paint)
        for point in points:
            self._vertex(point, paint)
        count = len(points)
        for index in range(count):
            self.indices += [first, first + 1 + index, first + 1 + (index + 1) % count]

    def line(self, points: Sequence[Point], thick: float, paint: Colour, *, closed: bool = False) -> None:
        """A line `thick` wide through points, with smooth edges, mitred at the corners."""
        half, clear = thick / 2, (*paint[:3], 0.0)
        across = _mitres(points, closed=closed)
        rows = ((half + _SOFT, clear), (half - _SOFT, paint), (_SOFT - half, paint), (-half - _SOFT, clear))
        first = len(self.vertices) // 6
        for (x, y), (ax, ay) in zip(points, across, strict=True):
            for away, shade in rows:
                self._vertex((x + ax * away, y + ay * away), shade)
        count = len(points)
        for index in range(count if closed else count - 1):
            here, there = first + 4 * index, first + 4 * ((index + 1) % count)
            for row in range(3):
                a, b, c, d = here + row, here + row + 1, there + row, there + row + 1
                self.indices += [a, b, c, b, d, c]

    def dashes(self, points: Sequence[Point], thick: float, paint: Colour, count: int) -> None:
        """A closed outline as `count` dashes; the points are taken to be evenly spaced."""
        total = len(points)
        for dash in range(count):
            start, end = dash * total // count, dash * total // count + max(1, round(total / count * 0.6))
            self.line([points[index % total] for index in range(start, end + 1)], thick, paint)

    def disc(self, x: float, y: float, radius: float, paint: Colour) -> None:
        """A filled circle with a smooth edge."""
        self.add(_disc(radius, paint), x, y)

    def _vertex(self, point: Point, paint: Colour) -> None:
        self.vertices += [*point, *paint]


@lru_cache(maxsize=256)
def _slab(width: float, height: float, paint: Colour | None, edge: Colour, thick: float) -> Ink:
    """A slab with its lower left corner at (0, 0), or without a paint its edge alone: screens have many of a few sorts."""
    ink, outline = Ink(), _rounded(0, 0, width, height, thick / 2)
    if paint is not None:
        ink.fan((width / 2, height / 2), outline, paint)
    ink.line(outline, thick, edge, closed=True)
    return ink


@lru_cache(maxsize=256)
def _disc(radius: float, paint: Colour) -> Ink:
    """A disc round (0, 0): a map draws a hundred of a few sorts."""
    steps = max(10, min(48, int(radius * 2)))
    solid, clear = paint, (*paint[:3], 0.0)
    ink = Ink()
    ink.vertices += [0.0, 0.0, *solid]
    for at in range(steps):
        cos, sin = math.cos(math.tau / steps * at), math.sin(math.tau / steps * at)
        for away, shade in ((radius - _SOFT, solid), (radius + _SOFT, clear)):
            ink.vertices += [away * cos, away * sin, *shade]
        here, there = 1 + 2 * at, 1 + 2 * ((at + 1) % steps)
        ink.indices += [0, here, there, here, here + 1, there, here + 1, there + 1, there]
    return ink


def _rounded(x: float, y: float, width: float, height: float, inset: float) -> list[Point]:
    """The outline of a rectangle with round corners, anticlockwise from the right."""
    radius = min(width, height) * 0.1
    left, low, right, high = x + inset + radius, y + inset + radius, x + width - inset - radius, y + height - inset - radius
    centres = ((right, high), (left, high), (left, low), (right, low))
    return [
        (cx + radius * math.cos(angle), cy + radius * math.sin(angle))
        for corner, (cx, cy) in enumerate(centres)
        for angle in (math.pi / 2 * (corner + step / 6) for step in range(7))
    ]


def _mitres(points: Sequence[Point], *, closed: bool) -> list[Point]:
    """At each point, the direction across the line, longer at corners so that the line keeps its width."""
    count = len(points)
    found: list[Point] = []
    for index, here in enumerate(points):
        before = points[index - 1] if closed or index > 0 else None
        after = points[(index + 1) % count] if closed or index < count - 1 else None
        normals = [_normal(one, other) for one, other in ((before, here), (here, after)) if one is not None and other is not None]
        x, y = sum(normal[0] for normal in normals), sum(normal[1] for normal in normals)
        # The sum of two unit normals is longest where the line goes straight on; a mitre is capped at three widths.
        square = max(x * x + y * y, 0.45) if len(normals) == 2 else 1.0
        scale = 2 / square if len(normals) == 2 else 1.0
        found.append((x * scale, y * scale))
    return found


def _normal(one: Point, other: Point) -> Point:
    dx, dy = other[0] - one[0], other[1] - one[1]
    length = math.hypot(dx, dy) or 1.0
    return -dy / length, dx / length
