"""The frame: a net in a frame, hung in the water, with corals in every n-th mesh."""

from decimal import Decimal
from typing import Literal, Self

from pydantic import model_validator

from shared_schema.designs.lattice import COMFORTABLE_PAGE, Count, Lattice, PerPage, outline
from shared_schema.designs.layout import Layout
from shared_schema.designs.lengths import Length, Unit, to_mm
from shared_schema.designs.structure import Structure

__all__ = ["Frame"]


class Frame(Structure):
    """A frame of `length` by `width` with square meshes of `mesh`; every `every`-th mesh, both ways, holds a coral.

    The first coral is in mesh number `first_mesh` from the left and from the far edge (the top, where the frame hangs
    `vertical`). Paths are page.place. A page is `rows_per_page` rows of corals; rows longer than `columns_per_page` are
    cut into stretches, each a page. Origin: the left corner of the far edge or top; a coral is in the middle of its
    mesh. Neighbours: left, right, before and behind (above and below), among the meshes with corals.
    """

    design: Literal["frame"] = "frame"
    unit: Unit
    length: Length
    width: Length
    mesh: Length
    every: Count = 1
    first_mesh: Count = 1
    rows_per_page: PerPage = 1
    columns_per_page: PerPage = COMFORTABLE_PAGE
    hangs: Literal["horizontal", "vertical"] = "horizontal"

    @model_validator(mode="after")
    def _holds_together(self) -> Self:
        along, across = self.meshes
        if min(along, across) < self.first_mesh:
            raise ValueError(
                f"first_mesh: mesh {self.first_mesh} is not there, {self.length} by {self.width} {self.unit} hold "
                f"{along} by {across} meshes of {self.mesh} {self.unit}: take a lower one, or a smaller mesh"
            )
        self._lattice().check("raise every, so that fewer meshes hold a coral, or put fewer rows or columns on a page")
        return self

    @property
    def meshes(self) -> tuple[int, int]:
        """Whole meshes along the length and along the width."""
        return int(self.length // self.mesh), int(self.width // self.mesh)

    @property
    def count(self) -> int:
        """How many positions there are."""
        return self._lattice().count

    def _lattice(self) -> Lattice:
        columns, rows = ((meshes - self.first_mesh) // self.every + 1 for meshes in self.meshes)
        mesh = to_mm(self.mesh, self.unit)
        return Lattice(
            rows=rows,
            columns=columns,
            rows_per_page=self.rows_per_page,
            columns_per_page=self.columns_per_page,
            spacing=self.every * mesh,
            row_spacing=self.every * mesh,
            margin=(self.first_mesh - Decimal("0.5")) * mesh,
            upright=self.hangs == "vertical",
        )

    def lay_out(self) -> Layout:
        """The layout, worked out anew."""
        lattice = self._lattice()
        zero, length, width = Decimal(0), to_mm(self.length, self.unit), to_mm(self.width, self.unit)
        corners = ((zero, zero), (length, zero), (length, width), (zero, width))
        return lattice.lay_out(outline([lattice.point(*corner) for corner in corners]))
