"""A slate as paper has it: where its title, its boxes and its margin are. Lengths in any unit, from the lower left corner."""

from dataclasses import dataclass

from mobile.training import Slate
from shared_schema.designs import Position

__all__ = ["Field", "SlateSheet", "lay_out_slate"]


@dataclass(frozen=True, slots=True)
class Field:
    """The box of a place: `number` is printed in it; `group` is printed before it where it begins a line of that arm."""

    path: str
    number: int
    group: int
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class SlateSheet:
    """`width` and `height` are those of each field; the title's baseline row is `line` high, and so is the margin's."""

    fields: tuple[Field, ...]
    width: float
    height: float
    line: float
    head: float


def lay_out_slate(slate: Slate, width: float, height: float, line: float) -> SlateSheet:
    """Fields in reading order, as square as they can be; `line` is the height of a line of type."""
    groups = slate.page.groups
    head = line * 1.1 if len(groups) > 1 else 0.0
    room = height - 2.4 * line  # a title above, a margin below
    longest = max(len(group.positions) for group in groups)
    even = [wide for wide in range(1, longest + 1) if longest % wide == 0] if len(groups) == 1 else [longest]

    def rows(wide: int) -> list[tuple[int, tuple[Position, ...]]]:
        return [
            (group.number, group.positions[start : start + wide])
            for group in groups
            for start in range(0, len(group.positions), wide)
        ]

    wide = max(even, key=lambda each: min((width - head) / each, room / len(rows(each))))
    lines = rows(wide)
    across, down = (width - head) / wide, room / len(lines)
    fields = tuple(
        Field(each.path, each.labels[-1].number, number if head and column == 0 else 0, head + column * across, top)
        for row, (number, positions) in enumerate(lines)
        for top in (height - 1.2 * line - (row + 1) * down,)
        for column, each in enumerate(positions)
    )
    return SlateSheet(fields, across, down, line, head)
