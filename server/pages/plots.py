"""A small plot of sizes through time, in pixels, y pointing down."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from server.review.growth import Size

__all__ = ["Dot", "Plot", "Series", "plot_sizes"]

WIDTH: Final = 560.0
HEIGHT: Final = 190.0
LEFT: Final = 62.0
RIGHT: Final = 14.0
TOP: Final = 14.0
BOTTOM: Final = 30.0


@dataclass(frozen=True, slots=True)
class Dot:
    """A size where it is drawn."""

    x: float
    y: float
    size: Size


@dataclass(frozen=True, slots=True)
class Series:
    """Sizes of one measure: its fact, its dots, and the line through them as a path. Squares where `square`, else discs."""

    fact: str
    dots: tuple[Dot, ...]
    path: str
    square: bool


@dataclass(frozen=True, slots=True)
class Plot:
    """Series on common axes; `ticks` are (y, millimetres), `days` are (x, day)."""

    width: float
    height: float
    series: tuple[Series, ...]
    ticks: tuple[tuple[float, int], ...]
    days: tuple[tuple[float, date], ...]


def plot_sizes(tle: Sequence[Size], length: Sequence[Size]) -> Plot | None:
    """The plot of a fragment's sizes from 0 up, None where nothing was measured."""
    every = sorted([*tle, *length])
    if not every:
        return None
    first, last = every[0].day, every[-1].day
    span = max(1, (last - first).days)
    top = _round_up(max(size.mm for size in every))

    def x(day: date) -> float:
        share = (day - first).days / span if last > first else 0.5
        return round(LEFT + share * (WIDTH - LEFT - RIGHT), 1)

    def y(mm: int) -> float:
        return round(HEIGHT - BOTTOM - mm / top * (HEIGHT - TOP - BOTTOM), 1)

    def series(fact: str, sizes: Sequence[Size], square: bool) -> Series:
        dots = tuple(Dot(x(size.day), y(size.mm), size) for size in sorted(sizes))
        return Series(fact, dots, "M" + "L".join(f"{dot.x} {dot.y}" for dot in dots), square)

    both = (series("tle_mm", tle, False), series("length_mm", length, True))
    ticks = tuple((y(mm), mm) for mm in (0, top // 2, top))
    days = ((x(first), first),) if first == last else ((x(first), first), (x(last), last))
    return Plot(WIDTH, HEIGHT, tuple(one for one in both if one.dots), ticks, days)


def _round_up(mm: int) -> int:
    """The next number with one digit and zeros, even so that its half is whole."""
    step = int(10 ** max(1, len(str(mm)) - 1))
    return max(step, -(-mm // step) * step)
