"""The table: corals in rows and columns on a flat top."""

from typing import Literal

from shared_schema.designs.flat_top import FlatTop
from shared_schema.designs.layout import Layout

__all__ = ["Table"]


class Table(FlatTop):
    """A table, in rows and columns as FlatTop says. Origin: place 1 of row 1."""

    design: Literal["table"] = "table"

    def lay_out(self) -> Layout:
        """The layout, worked out anew."""
        return self._lattice().lay_out()
