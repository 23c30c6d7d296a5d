"""How fast a fragment grew: what was measured last minus what was measured first, a year of 365.25 days."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from typing import Final, Literal

__all__ = ["DAYS_A_YEAR", "Growth", "Size", "growth_of"]

DAYS_A_YEAR: Final = Decimal("365.25")

Measure = Literal["tle_mm", "length_mm"]


@dataclass(frozen=True, slots=True, order=True)
class Size:
    """A size in whole millimetres on a day. `entry_id` is the entry behind it, "" where several agree on it."""

    day: date
    mm: int
    survey: str = ""
    entry_id: str = ""


@dataclass(frozen=True, slots=True)
class Growth:
    """Linear growth between the first and the last of `n` sizes: (last - first) / time, in mm a year, one decimal."""

    measure: Measure
    first: Size
    last: Size
    n: int

    @property
    def days(self) -> int:
        """The time between them, in days."""
        return (self.last.day - self.first.day).days

    @property
    def mm_a_year(self) -> Decimal:
        """The rate; below 0 where it got smaller, as by breaking or by being cut."""
        rate = (self.last.mm - self.first.mm) * DAYS_A_YEAR / self.days
        return rate.quantize(Decimal("0.1"), ROUND_HALF_UP)


def growth_of(tle: Sequence[Size], length: Sequence[Size]) -> Growth | None:
    """Growth by total linear extension where that was measured on two days, else by length, else None: not measured."""
    choices: tuple[tuple[Measure, Sequence[Size]], ...] = (("tle_mm", tle), ("length_mm", length))
    for measure, sizes in choices:
        ordered = sorted(sizes)
        if ordered and ordered[0].day < ordered[-1].day:
            return Growth(measure, ordered[0], ordered[-1], len(ordered))
    return None
