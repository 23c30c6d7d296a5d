"""What all designs can do: from a few parameters to positions, pages and pictures."""

from abc import ABC, abstractmethod
from functools import lru_cache
from typing import Final

from pydantic import BaseModel, ConfigDict

from shared_schema.designs.drawing import Drawing, draw_plan, draw_side, draw_slate
from shared_schema.designs.layout import Layout, Page, Position
from shared_schema.errors import DesignError, NothingSuch

__all__ = ["MOST_ON_A_PAGE", "MOST_POSITIONS", "Structure", "check_counts"]

MOST_POSITIONS: Final = 5000
"""The most positions that one structure may have."""
MOST_ON_A_PAGE: Final = 100
"""The most positions that one page may have."""


class Structure(BaseModel, ABC):
    """A design as parameters. Frozen: equal designs share one layout, however many structures are built to them.

    The parameters decide the addresses of positions. A structure that is to keep its record keeps its design.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    @property
    @abstractmethod
    def count(self) -> int:
        """How many positions there are, without laying them out."""

    @abstractmethod
    def lay_out(self) -> Layout:
        """The layout, worked out anew. The other properties work it out once for all equal designs."""

    @property
    def positions(self) -> tuple[Position, ...]:
        """All positions in reading order, as a slate lists them: page by page."""
        return _layout_of(self).positions

    @property
    def pages(self) -> tuple[Page, ...]:
        """The pages in order; each position is on exactly one."""
        return _layout_of(self).pages

    def position(self, path: str) -> Position:
        """The position at a path, as `3.2.4`. Raises NothingSuch."""
        layout = _layout_of(self)
        try:
            return layout.by_path[path]
        except KeyError:
            raise self._nothing("position", path, layout.positions[0].path, layout.positions[-1].path) from None

    def page(self, path: str) -> Page:
        """The page at a path, as `3`. Raises NothingSuch."""
        layout = _layout_of(self)
        try:
            return layout.by_page[path]
        except KeyError:
            raise self._nothing("page", path, layout.pages[0].path, layout.pages[-1].path) from None

    def plan(self, page: str) -> Drawing:
        """A page to scale in mm: a tree's level from above with its turn, a rope, a grid. Raises NothingSuch."""
        return draw_plan(_layout_of(self), self.page(page))

    def slate(self, page: str, wide: int = 10) -> Drawing:
        """A page as a slate lists it: a line for each arm or row, all marks one unit apart, so that targets are equal.

        Lines longer than `wide` are broken. Raises NothingSuch for the page, DesignError for `wide` under 1.
        """
        if wide < 1:
            raise DesignError(f"wide = {wide} leaves no room for a mark: give at least 1")
        return draw_slate(self.page(page), wide)

    def side_view(self) -> Drawing:
        """The whole structure in mm, from the side and a little from above."""
        return draw_side(_layout_of(self))

    def _nothing(self, sort: str, path: str, first: str, last: str) -> NothingSuch:
        name = type(self).__name__.lower()
        return NothingSuch(f"this {name} has no {sort} {path!r}: its {sort}s run from {first} to {last}")


def check_counts(total: int, fullest_page: int, remedy: str) -> None:
    """Raises ValueError where a structure or one of its pages has more positions than the record admits."""
    if total > MOST_POSITIONS:
        raise ValueError(f"this makes {total} positions and {MOST_POSITIONS} are the most for one structure: {remedy}")
    if fullest_page > MOST_ON_A_PAGE:
        raise ValueError(f"this puts {fullest_page} positions on one page and {MOST_ON_A_PAGE} are the most: {remedy}")


# A layout follows from the parameters alone. A nursery builds to a handful of designs: the bound only guards memory.
@lru_cache(maxsize=128)
def _layout_of(design: Structure) -> Layout:
    return design.lay_out()
