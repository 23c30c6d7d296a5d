"""Where the positions of a structure are, in what order they are read, and what hangs beside what.

Axes, in millimetres, right-handed: x to the right, y away from the reader, z up; what hangs below the origin has a
negative z. Each design says where its origin is. Coordinates are rounded to 0.1 mm, `along` is exact.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Final, Literal, NamedTuple, TypeAlias

__all__ = ["COMFORTABLE_PAGE", "Group", "Label", "Layout", "Page", "PageKind", "Position", "Spot", "Stroke", "lay_out"]

PageKind: TypeAlias = Literal["level", "stretch", "row"]
GroupKind: TypeAlias = Literal["arm", "stretch", "row"]
LabelWord: TypeAlias = Literal["level", "arm", "hole", "stretch", "place", "row", "column"]

COMFORTABLE_PAGE: Final = 25
"""More positions than this on a page make its touch targets small on a 10-inch tablet."""

_TENTH: Final = Decimal("0.1")


class Label(NamedTuple):
    """One part of how a person says where something is: a word to translate and a number that counts from 1."""

    word: LabelWord
    number: int


@dataclass(frozen=True, slots=True)
class Position:
    """One place for a coral.

    `path` is the address within the structure (`3.2.4`), `page` its first part. `order` counts from 0 in reading order.
    `group` is the number of the arm, row or stretch on the page. `along` is the exact distance in mm from the start
    of that arm, row or rope. `neighbours` are paths in reading order; being a neighbour is mutual.
    """

    path: str
    page: str
    order: int
    group: int
    labels: tuple[Label, ...]
    along: Decimal
    x: Decimal
    y: Decimal
    z: Decimal
    neighbours: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """Positions of a page that can be marked in one go: an arm, a row, a stretch of rope.

    `bearing`, for an arm only, is in degrees clockwise from the mark on the trunk, seen from above.
    """

    kind: GroupKind
    number: int
    bearing: Decimal | None
    positions: tuple[Position, ...]


@dataclass(frozen=True, slots=True)
class Page:
    """What a tablet shows at once and a diver signs off; `path` is its address within the structure (`3`)."""

    path: str
    kind: PageKind
    groups: tuple[Group, ...]
    positions: tuple[Position, ...]

    @property
    def crowded(self) -> bool:
        """Whether touch targets will be small on a 10-inch tablet."""
        return len(self.positions) > COMFORTABLE_PAGE


Point: TypeAlias = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Stroke:
    """A part of the structure to draw behind its positions, in mm; `page` is None for what belongs to no page."""

    kind: Literal["trunk", "arm", "rope", "row", "edge"]
    page: str | None
    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class Spot:
    """A position as a design states it, before it is numbered and knows its neighbours."""

    path: tuple[int, ...]
    group: tuple[GroupKind, int, Decimal | None]
    labels: tuple[Label, ...]
    along: Decimal
    x: Decimal
    y: Decimal
    z: Decimal


@dataclass(frozen=True, slots=True)
class Layout:
    """Everything that follows from a design's parameters. `upright`: pages are seen from the front, not from above."""

    positions: tuple[Position, ...]
    pages: tuple[Page, ...]
    strokes: tuple[Stroke, ...]
    upright: bool
    by_path: Mapping[str, Position]
    by_page: Mapping[str, Page]


def lay_out(
    spots: list[Spot],
    pairs: Iterable[tuple[int, int]],
    kind: PageKind,
    strokes: Iterable[Stroke],
    *,
    upright: bool = False,
) -> Layout:
    """Spots in reading order, and the pairs of their indexes that are neighbours -> the layout.

    The spots of a page, and of a group within it, stand together.
    """
    beside: list[set[int]] = [set() for _ in spots]
    for one, other in pairs:
        beside[one].add(other)
        beside[other].add(one)
    paths = [".".join(map(str, spot.path)) for spot in spots]
    positions = tuple(
        Position(
            path=paths[order],
            page=str(spot.path[0]),
            order=order,
            group=spot.group[1],
            labels=spot.labels,
            along=spot.along,
            x=_rounded(spot.x),
            y=_rounded(spot.y),
            z=_rounded(spot.z),
            neighbours=tuple(paths[index] for index in sorted(beside[order])),
        )
        for order, spot in enumerate(spots)
    )
    pages = _pages(spots, positions, kind)
    return Layout(
        positions=positions,
        pages=pages,
        strokes=tuple(strokes),
        upright=upright,
        by_path=MappingProxyType({position.path: position for position in positions}),
        by_page=MappingProxyType({page.path: page for page in pages}),
    )


def _pages(spots: list[Spot], positions: tuple[Position, ...], kind: PageKind) -> tuple[Page, ...]:
    groups: dict[str, dict[tuple[GroupKind, int, Decimal | None], list[Position]]] = {}
    for spot, position in zip(spots, positions, strict=True):
        groups.setdefault(position.page, {}).setdefault(spot.group, []).append(position)
    return tuple(
        Page(
            path=path,
            kind=kind,
            groups=tuple(Group(*key, tuple(members)) for key, members in by_group.items()),
            positions=tuple(position for members in by_group.values() for position in members),
        )
        for path, by_group in groups.items()
    )


def _rounded(length: Decimal) -> Decimal:
    return length.quantize(_TENTH) + 0  # + 0 turns a negative zero into zero
