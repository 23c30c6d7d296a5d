"""The block: a solid on the sea floor with corals in rows and columns on its top."""

from decimal import Decimal
from typing import Literal

from shared_schema.designs.flat_top import FlatTop
from shared_schema.designs.lattice import outline
from shared_schema.designs.layout import Layout
from shared_schema.designs.lengths import Length, to_mm

__all__ = ["Block"]


class Block(FlatTop):
    """A block of a height, in rows and columns as FlatTop says. Origin: on the sea floor under place 1 of row 1."""

    design: Literal["block"] = "block"
    height: Length

    def lay_out(self) -> Layout:
        """The layout, worked out anew."""
        lattice = self._lattice(to_mm(self.height, self.unit))
        right, near = (self.columns - 1) * lattice.spacing, (self.rows - 1) * lattice.row_spacing
        zero = Decimal(0)
        corners = ((zero, zero), (right, zero), (right, lattice.height), (zero, lattice.height))
        return lattice.lay_out(outline([(x, -near, z) for x, z in corners]))
