"""The line: a rope with corals at even distances, hung upright or drawn between two points."""

from decimal import Decimal
from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from shared_schema.designs.layout import Label, Layout, Spot, Stroke, lay_out
from shared_schema.designs.lengths import Length, Offset, Unit, to_mm
from shared_schema.designs.structure import MOST_ON_A_PAGE, Structure, check_counts

__all__ = ["Line"]


class Line(Structure):
    """A rope: a coral `first` from its start, then one every `spacing` as far as `length` reaches, its end included.

    Paths are stretch.place; a stretch is a page of `per_stretch` places, the last may be shorter. Origin: the start of
    the rope, its top where it hangs upright. Neighbours: the places before and after, across stretches too.
    """

    design: Literal["line"] = "line"
    unit: Unit
    length: Length
    spacing: Length
    first: Offset = Decimal(0)
    per_stretch: Annotated[int, Field(strict=True, ge=1, le=MOST_ON_A_PAGE)] = 20
    rope: Literal["horizontal", "vertical"] = "horizontal"

    @model_validator(mode="after")
    def _holds_together(self) -> Self:
        if self.first > self.length:
            raise ValueError(
                f"first: the first coral is at {self.first} {self.unit} on a length of {self.length} {self.unit}: "
                "bring it in, or lengthen the line"
            )
        check_counts(self.count, min(self.count, self.per_stretch), "take a wider spacing or a shorter line")
        return self

    @property
    def count(self) -> int:
        """How many positions there are."""
        return int((self.length - self.first) // self.spacing) + 1

    def lay_out(self) -> Layout:
        """The layout, worked out anew."""
        spots: list[Spot] = []
        zero = Decimal(0)
        for index in range(self.count):
            stretch, place = (part + 1 for part in divmod(index, self.per_stretch))
            along = to_mm(self.first + index * self.spacing, self.unit)
            x, z = (along, zero) if self.rope == "horizontal" else (zero, -along)
            labels = (Label("stretch", stretch), Label("place", place))
            spots.append(Spot((stretch, place), ("stretch", stretch, None), labels, along, x, zero, z))
        pairs = pairwise(range(len(spots)))
        return lay_out(spots, pairs, "stretch", self._strokes(spots), upright=self.rope == "vertical")

    def _strokes(self, spots: list[Spot]) -> list[Stroke]:
        """The rope, a part for each stretch: from the last place of the one before to its own, or to the rope's end."""
        ends = [float(spots[index].along) for index in range(self.per_stretch - 1, len(spots) - 1, self.per_stretch)]
        cuts = [0.0, *ends, float(to_mm(self.length, self.unit))]
        return [
            Stroke("rope", str(stretch), self._at(start), self._at(end)) for stretch, (start, end) in enumerate(pairwise(cuts), 1)
        ]

    def _at(self, along: float) -> tuple[float, float, float]:
        return (along, 0.0, 0.0) if self.rope == "horizontal" else (0.0, 0.0, -along)
