"""A genet's family tree: generations from left to right, each mother before her cuttings.

Cuttings that have none of their own are drawn one by one while a mother has few of them, and else as one bar with counts.
"""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from server.review.genets import Family, Ramet
from server.review.stock import State, Survival

__all__ = ["Bundle", "Leaf", "Tree", "draw_family"]

ROW: Final = 26.0
COLUMN: Final = 190.0
FEW: Final = 4
MOST_ROWS: Final = 400


@dataclass(frozen=True, slots=True)
class Leaf:
    """A ramet in the tree, in pixels."""

    ramet: Ramet
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Bundle:
    """Cuttings of one mother, in a bar. `mother` is None for founders."""

    mother: str | None
    survival: Survival
    x: float
    y: float

    @property
    def total(self) -> int:
        """How many there are."""
        return sum(self.survival.values())


@dataclass(frozen=True, slots=True)
class Tree:
    """What to draw, in pixels; `lines` is one path. `left_out` ramets are in the table only."""

    width: float
    height: float
    leaves: tuple[Leaf, ...]
    bundles: tuple[Bundle, ...]
    lines: str
    generations: int
    left_out: int


class _Drawing:
    def __init__(self, family: Family) -> None:
        self.by_name: Mapping[str, Ramet] = {one.name: one for one in family.ramets}
        self.cuttings = family.cuttings
        self.row = 0
        self.leaves: list[Leaf] = []
        self.bundles: list[Bundle] = []
        self.lines: list[str] = []

    def place(self, mother: str | None, names: list[str], generation: int) -> Iterator[float]:
        """Draw these sisters, from the present row down; gives the height of each."""
        x = generation * COLUMN + 14
        alone = [name for name in names if not self.cuttings.get(name)]
        bundled = set(alone) if len(alone) > FEW else set()
        for name in names:
            if name not in bundled and self.row < MOST_ROWS:
                yield self._ramet(name, x, generation)
        if bundled and self.row < MOST_ROWS:
            counts: Counter[State] = Counter(self.by_name[name].state for name in bundled)
            y = self._next_row()
            self.bundles.append(Bundle(mother, counts, x, y))
            yield y

    def _ramet(self, name: str, x: float, generation: int) -> float:
        under = [child for child in self.cuttings.get(name, ()) if child in self.by_name]
        heights = list(self.place(name, under, generation + 1)) if under and generation < 60 else []
        y = heights[0] if heights else self._next_row()
        self.leaves.append(Leaf(self.by_name[name], x, y))
        if heights:
            bend = x + COLUMN - 22
            self.lines.append(f"M{x + 96:.0f} {y:.0f}H{bend:.0f}V{heights[-1]:.0f}")
            self.lines += [f"M{bend:.0f} {height:.0f}h14" for height in heights]
        return y

    def _next_row(self) -> float:
        self.row += 1
        return self.row * ROW - ROW / 2


def draw_family(family: Family) -> Tree | None:
    """The tree of a family, None where it has no ramets."""
    if not family.ramets:
        return None
    drawing = _Drawing(family)
    founders = [one.name for one in family.ramets if one.parent is None or one.parent not in drawing.by_name]
    list(drawing.place(None, founders, 0))
    deepest = max(family.by_generation)
    drawn = len(drawing.leaves) + sum(bundle.total for bundle in drawing.bundles)
    return Tree(
        width=(min(deepest, 60) + 1) * COLUMN,
        height=drawing.row * ROW,
        leaves=tuple(drawing.leaves),
        bundles=tuple(drawing.bundles),
        lines="".join(drawing.lines),
        generations=deepest + 1,
        left_out=len(family.ramets) - drawn,
    )
