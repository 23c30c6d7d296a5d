"""A page of positions as a board of targets: what is shown on it, and where each target is.

Lengths are in millimetres from the lower left corner of the board. A page that does not fit at the least size of a target is
cut into parts; it is still signed off as one page.
"""

import math
from dataclasses import dataclass, field
from typing import Final

from mobile.ruler import GAP, LARGEST_POSITION, POSITION, POSITION_LEAST
from shared_schema.designs import Page, Position

__all__ = ["BoardLayout", "BoardPicture", "BoardSpot", "Cell", "Head", "Part", "lay_out_board"]

_HEAD: Final = POSITION


@dataclass(frozen=True, slots=True)
class BoardSpot:
    """What is shown of one position.

    `path` as in shared_schema.designs. `status` is what was seen on this dive, None where nobody said anything; `faint` what
    the last visit found. `empty` says that nothing is known to hang there, `unseen` that the diver did not look.
    """

    path: str
    status: str | None = None
    faint: str | None = None
    open: bool = False
    last_touched: bool = False
    selected: bool = False
    empty: bool = False
    unseen: bool = False


@dataclass(frozen=True, slots=True)
class BoardPicture:
    """A whole page: its design and a spot for each of its positions, in any order."""

    page: Page
    spots: tuple[BoardSpot, ...] = ()
    by_path: dict[str, BoardSpot] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "by_path", {spot.path: spot for spot in self.spots})

    def at(self, path: str) -> BoardSpot:
        """The spot at a position; one that nobody described is empty."""
        return self.by_path.get(path) or BoardSpot(path, empty=True)


@dataclass(frozen=True, slots=True)
class Cell:
    """The target of a position: a square with its lower left corner at x, y. `number` is what a slate calls it."""

    path: str
    number: int
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Head:
    """The target that marks a whole arm, row or stretch: to the left of its lines, as high as they are."""

    kind: str
    number: int
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Part:
    """What is on the board at once."""

    cells: tuple[Cell, ...]
    heads: tuple[Head, ...]


@dataclass(frozen=True, slots=True)
class BoardLayout:
    """`size` is the side of every cell."""

    size: float
    parts: tuple[Part, ...]

    def part_of(self, path: str) -> int:
        """The number, from 0, of the part that a position is on; 0 where it is on none."""
        return next((index for index, part in enumerate(self.parts) if any(cell.path == path for cell in part.cells)), 0)


@dataclass(frozen=True, slots=True)
class _Line:
    group: int
    positions: tuple[Position, ...]


@dataclass(frozen=True, slots=True)
class _Fit:
    """How large cells can be with `lines` on a part, each `wide` cells long."""

    size: float
    wide: int
    lines: int
    parts: int

    @property
    def rank(self) -> tuple[int, float, int]:
        return -self.parts, round(self.size, 6), self.wide


def lay_out_board(page: Page, width: float, height: float) -> BoardLayout:
    """A line for each arm, row or stretch in reading order, broken where that makes targets larger.

    Targets are squares between POSITION_LEAST and LARGEST_POSITION, GAP apart; on as few parts as that allows. A board
    smaller than a single target gets cells as small as it is itself.
    """
    longest = max(len(group.positions) for group in page.groups)
    fits = [_fit(page, wide, width, height) for wide in range(1, longest + 1)]
    best = max(fits, key=lambda fit: (fit.size >= POSITION_LEAST, fit.rank))
    lines = _lines(page, best.wide)
    parts = [lines[start : start + best.lines] for start in range(0, len(lines), best.lines)]
    return BoardLayout(best.size, tuple(_place(page, part, best, width, height) for part in parts))


def _fit(page: Page, wide: int, width: float, height: float) -> _Fit:
    total = sum(math.ceil(len(group.positions) / wide) for group in page.groups)
    across = (width - _HEAD - GAP) / wide - GAP + GAP / wide
    most = max(1, math.floor((height + GAP) / (POSITION_LEAST + GAP) + 1e-9))
    parts = math.ceil(total / most)
    lines = math.ceil(total / parts)
    down = (height + GAP) / lines - GAP
    return _Fit(max(min(across, down, LARGEST_POSITION), 1.0), wide, lines, parts)


def _lines(page: Page, wide: int) -> list[_Line]:
    return [
        _Line(index, group.positions[start : start + wide])
        for index, group in enumerate(page.groups)
        for start in range(0, len(group.positions), wide)
    ]


def _place(page: Page, lines: list[_Line], fit: _Fit, width: float, height: float) -> Part:
    step = fit.size + GAP
    wide = _HEAD + GAP + max(len(line.positions) for line in lines) * step - GAP
    left, top = max(0.0, (width - wide) / 2), height - max(0.0, (height - (len(lines) * step - GAP)) / 2)
    cells = tuple(
        Cell(position.path, position.labels[-1].number, left + _HEAD + GAP + column * step, top - row * step - fit.size)
        for row, line in enumerate(lines)
        for column, position in enumerate(line.positions)
    )
    heads = []
    for index in dict.fromkeys(line.group for line in lines):
        rows = [row for row, line in enumerate(lines) if line.group == index]
        tall = len(rows) * step - GAP
        group = page.groups[index]
        heads.append(Head(group.kind, group.number, left, top - rows[-1] * step - fit.size, _HEAD, tall))
    return Part(cells, tuple(heads))
