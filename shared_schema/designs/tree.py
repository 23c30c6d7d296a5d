"""The tree: a trunk hung upright, with arms in levels, and corals hung from holes in the arms."""

import math
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from shared_schema.designs.layout import Label, Layout, Spot, Stroke, lay_out
from shared_schema.designs.lengths import Degrees, Length, Offset, Unit, to_mm
from shared_schema.designs.structure import Structure, check_counts

__all__ = ["Tree"]


class Tree(Structure):
    """A tree; without arguments the common one: 5 levels of 4 arms with 5 holes, 100 positions (common practice).

    Paths are level.arm.hole: levels count from the top, holes from the trunk. Each level is turned by `turn` against
    the one above. Bearings run clockwise seen from above, from a mark on the trunk; arm 1 of a level is the first at or
    after the mark, so that arms 1 do not wander round the trunk from level to level.

    Origin: the top of the trunk, y towards the mark. `holes` are measured from the trunk end of the arm, which is drawn
    as if it stood on the axis of the trunk. `first_level` is measured from the top of the trunk.

    Neighbours: the holes before and after on the arm; the innermost holes of the arms to either side; and the same hole
    on the nearest arm of the level above and below, or on both arms where two are equally near.
    """

    design: Literal["tree"] = "tree"
    unit: Unit = "in"
    levels: Annotated[int, Field(strict=True, ge=1, le=100)] = 5
    arms: Annotated[int, Field(strict=True, ge=1, le=24)] = 4
    holes: Annotated[tuple[Length, ...], Field(min_length=1, max_length=50)] = tuple(map(Decimal, (7, 13, 19, 25, 31)))
    arm_length: Length = Decimal(33)
    trunk_length: Length = Decimal(72)
    first_level: Offset = Decimal(12)
    level_spacing: Length = Decimal(12)
    turn: Degrees = Decimal(45)

    @model_validator(mode="after")
    def _holds_together(self) -> Self:
        unit = self.unit
        for inner, outer in pairwise(self.holes):
            if outer <= inner:
                raise ValueError(f"holes: {outer} comes after {inner}: list them from the trunk outwards, each once")
        if self.holes[-1] >= self.arm_length:
            raise ValueError(
                f"holes: the last is at {self.holes[-1]} {unit} on an arm of {self.arm_length} {unit}: "
                "bring it in, or raise arm_length"
            )
        lowest = self.first_level + (self.levels - 1) * self.level_spacing
        if lowest > self.trunk_length:
            raise ValueError(
                f"levels: the last of {self.levels} is at {lowest} {unit} on a trunk of {self.trunk_length} {unit}: "
                "take fewer levels, a smaller level_spacing, or raise trunk_length"
            )
        check_counts(self.count, self.arms * len(self.holes), "take fewer levels, arms or holes")
        return self

    @property
    def count(self) -> int:
        """How many positions there are."""
        return self.levels * self.arms * len(self.holes)

    @property
    def level_marks(self) -> tuple[Decimal, ...]:
        """Where the levels cross the trunk, in mm from its top, exactly."""
        return tuple(to_mm(self.first_level + index * self.level_spacing, self.unit) for index in range(self.levels))

    @property
    def hole_marks(self) -> tuple[Decimal, ...]:
        """Where the holes are on each arm, in mm from its trunk end, exactly."""
        return tuple(to_mm(hole, self.unit) for hole in self.holes)

    def bearings(self, level: int) -> tuple[Fraction, ...]:
        """The bearings of the arms of a level (from 1), in degrees."""
        between = Fraction(360, self.arms)
        first = (level - 1) * Fraction(self.turn) % between
        return tuple(first + index * between for index in range(self.arms))

    def lay_out(self) -> Layout:
        """The layout, worked out anew."""
        spots: list[Spot] = []
        top, bottom = (0.0, 0.0, 0.0), (0.0, 0.0, -float(to_mm(self.trunk_length, self.unit)))
        strokes = [Stroke("trunk", None, top, bottom)]
        reach = float(to_mm(self.arm_length, self.unit))
        for level, mark in enumerate(self.level_marks, 1):
            for arm, bearing in enumerate(self.bearings(level), 1):
                east, north = _direction(bearing)
                tip = (reach * float(east), reach * float(north), -float(mark))
                strokes.append(Stroke("arm", str(level), (0.0, 0.0, -float(mark)), tip))
                group: tuple[Literal["arm"], int, Decimal] = ("arm", arm, round(Decimal(float(bearing)), 3))
                for hole, along in enumerate(self.hole_marks, 1):
                    labels = (Label("level", level), Label("arm", arm), Label("hole", hole))
                    spots.append(Spot((level, arm, hole), group, labels, along, along * east, along * north, -mark))
        return lay_out(spots, self._pairs(), "level", strokes)

    def _pairs(self) -> Iterator[tuple[int, int]]:
        holes = len(self.holes)

        def index(level: int, arm: int, hole: int) -> int:
            return (level * self.arms + arm) * holes + hole

        for level in range(self.levels):
            for arm in range(self.arms):
                yield from ((index(level, arm, hole), index(level, arm, hole + 1)) for hole in range(holes - 1))
                if self.arms > 1:
                    yield index(level, arm, 0), index(level, (arm + 1) % self.arms, 0)
        for level in range(self.levels - 1):
            for arm, below in _nearest(self.bearings(level + 1), self.bearings(level + 2)):
                yield from ((index(level, arm, hole), index(level + 1, below, hole)) for hole in range(holes))


def _nearest(above: tuple[Fraction, ...], below: tuple[Fraction, ...]) -> Iterator[tuple[int, int]]:
    """Pairs of arms of two levels that are as near as any; exact fractions, so that ties are ties on every machine."""
    for one, bearing in enumerate(above):
        gaps = [min((bearing - other) % 360, (other - bearing) % 360) for other in below]
        yield from ((one, other) for other, gap in enumerate(gaps) if gap == min(gaps))


def _direction(bearing: Fraction) -> tuple[Decimal, Decimal]:
    """A bearing in degrees -> its parts along x and y.

    Twelve digits are more than 0.1 mm needs, and leave off the last bits, where the sines of two machines may differ.
    """
    angle = math.radians(float(bearing))
    return Decimal(str(round(math.sin(angle), 12))), Decimal(str(round(math.cos(angle), 12)))
