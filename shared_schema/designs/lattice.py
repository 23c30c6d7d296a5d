"""Places in rows and columns, cut into pages: what tables, frames and blocks have in common."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, TypeAlias

from pydantic import Field

from shared_schema.designs.layout import COMFORTABLE_PAGE, Label, Layout, Point, Spot, Stroke, lay_out
from shared_schema.designs.structure import MOST_ON_A_PAGE, MOST_POSITIONS, check_counts

__all__ = ["COMFORTABLE_PAGE", "Count", "Lattice", "PerPage", "outline"]

Count: TypeAlias = Annotated[int, Field(strict=True, ge=1, le=MOST_POSITIONS)]
PerPage: TypeAlias = Annotated[int, Field(strict=True, ge=1, le=MOST_ON_A_PAGE)]

Corner: TypeAlias = tuple[Decimal, Decimal, Decimal]

_ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class Lattice:
    """Rows from the far edge (or the top) towards the reader (or down), columns from left to right; lengths in mm.

    A page is a block of `rows_per_page` rows and `columns_per_page` columns; those at the edges may be smaller. Pages
    are counted from left to right, then from row to row; places within a page likewise. Neighbours: left, right,
    before and behind, across pages too.
    """

    rows: int
    columns: int
    rows_per_page: int
    columns_per_page: int
    spacing: Decimal
    row_spacing: Decimal
    margin: Decimal = _ZERO
    """From the left and the far edge to the first column and the first row."""
    height: Decimal = _ZERO
    """z of the places of a flat lattice."""
    upright: bool = False

    @property
    def count(self) -> int:
        """How many places there are."""
        return self.rows * self.columns

    def check(self, remedy: str) -> None:
        """Raises ValueError where there are too many places in all, or on a page."""
        check_counts(self.count, min(self.rows, self.rows_per_page) * min(self.columns, self.columns_per_page), remedy)

    def lay_out(self, body: Iterable[Stroke] = ()) -> Layout:
        """The layout, with what else there is to draw."""
        spots: list[Spot] = []
        index: dict[tuple[int, int], int] = {}
        for page, places in enumerate(self._pages(), 1):
            for place, (row, column) in enumerate(places, 1):
                index[row, column] = len(spots)
                spots.append(self._spot(page, place, row, column))
        pairs = [
            (here, index[beside])
            for (row, column), here in index.items()
            for beside in ((row, column + 1), (row + 1, column))
            if beside in index
        ]
        whole_rows = self.rows_per_page == 1 and self.columns <= self.columns_per_page
        return lay_out(spots, pairs, "row" if whole_rows else "stretch", [*body, *self._row_strokes()], upright=self.upright)

    def point(self, across: Decimal, down: Decimal) -> Corner:
        """Distances from the origin along a row and from row to row -> x, y, z."""
        return (across, _ZERO, -down) if self.upright else (across, -down, self.height)

    def _pages(self) -> Iterator[list[tuple[int, int]]]:
        """The (row, column) of each page's places, counted from 0, in reading order."""
        for top in range(0, self.rows, self.rows_per_page):
            for left in range(0, self.columns, self.columns_per_page):
                yield [
                    (row, column)
                    for row in range(top, min(top + self.rows_per_page, self.rows))
                    for column in range(left, min(left + self.columns_per_page, self.columns))
                ]

    def _spot(self, page: int, place: int, row: int, column: int) -> Spot:
        along = self.margin + column * self.spacing
        x, y, z = self.point(along, self.margin + row * self.row_spacing)
        labels = (Label("row", row + 1), Label("column", column + 1))
        return Spot((page, place), ("row", row + 1, None), labels, along, x, y, z)

    def _row_strokes(self) -> Iterator[Stroke]:
        for page, places in enumerate(self._pages(), 1):
            for row in sorted({row for row, _ in places}):
                columns = [column for each, column in places if each == row]
                down = self.margin + row * self.row_spacing
                start, end = (
                    _floats(self.point(self.margin + column * self.spacing, down)) for column in (columns[0], columns[-1])
                )
                yield Stroke("row", str(page), start, end)


def _floats(point: Corner) -> Point:
    x, y, z = point
    return float(x), float(y), float(z)


def outline(corners: list[Corner]) -> list[Stroke]:
    """The edges of a closed shape."""
    ends = [_floats(corner) for corner in corners]
    return [Stroke("edge", None, start, end) for start, end in zip(ends, [*ends[1:], ends[0]], strict=True)]
