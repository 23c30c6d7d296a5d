"""Corals in rows and columns on a flat top: what tables and blocks have in common."""

from decimal import Decimal
from typing import Any, Self

from pydantic import Field, model_validator

from shared_schema.designs.lattice import COMFORTABLE_PAGE, Count, Lattice, PerPage
from shared_schema.designs.lengths import Length, Unit, to_mm
from shared_schema.designs.structure import Structure

__all__ = ["FlatTop"]


def _same_spacing(data: dict[str, Any]) -> Decimal:
    # Where `spacing` itself was refused it is not there, and the design is refused whatever this says.
    spacing: Decimal = data.get("spacing", Decimal(1))
    return spacing


class FlatTop(Structure):
    """Rows on a flat top: `spacing` along a row, `row_spacing` between rows (the same unless given).

    Paths are page.place. A page is `rows_per_page` rows; rows longer than `columns_per_page` are cut into stretches,
    each a page. Row 1 is the far one, its place 1 on the left. Neighbours: left, right, before and behind.
    """

    unit: Unit
    rows: Count
    columns: Count
    spacing: Length
    row_spacing: Length = Field(default_factory=_same_spacing)
    rows_per_page: PerPage = 1
    columns_per_page: PerPage = COMFORTABLE_PAGE

    @model_validator(mode="after")
    def _holds_together(self) -> Self:
        self._lattice().check("take fewer rows or columns, or put fewer of them on a page")
        return self

    @property
    def count(self) -> int:
        """How many positions there are."""
        return self.rows * self.columns

    def _lattice(self, height: Decimal = Decimal(0)) -> Lattice:
        return Lattice(
            rows=self.rows,
            columns=self.columns,
            rows_per_page=self.rows_per_page,
            columns_per_page=self.columns_per_page,
            spacing=to_mm(self.spacing, self.unit),
            row_spacing=to_mm(self.row_spacing, self.unit),
            height=height,
        )
