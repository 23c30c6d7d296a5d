"""How the classes of a measure look on a map: each with a number or letter, and a lightness or shape of its own.

Numbers go through steps that are the same on every map, from light to dark, so that they read in grey; genets have letters
of their own on one structure, and colour and shape besides. The letter is at least 7:1 on its fill.
"""

from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from server.pages.figures import day_words, numeral, signed
from server.pages.wording import gettext, mark, ngettext
from server.review.coloured import Measure, Measured

__all__ = ["MEASURE_WORDS", "Key", "Swatch", "key_of", "measured_words"]

MEASURE_WORDS: Final[Mapping[Measure, str]] = {
    "genet": mark("Genet"),
    "age": mark("Days since planted"),
    "growth": mark("Growth"),
    "seen": mark("Days since seen"),
}

_DISC: Final = "M1.5 12a10.5 10.5 0 1 0 21 0a10.5 10.5 0 1 0 -21 0Z"
_SQUARE: Final = "M2 2H22V22H2Z"
_SHAPES: Final = (_DISC, _SQUARE, "M12 -1L25 12L12 25L-1 12Z", "M6 1.6H18L24 12L18 22.4H6L0 12Z")
_HUES: Final = ("#8CC8F5", "#F4D35E", "#F2A7A0", "#B5E2A0", "#D9B8F0", "#E9E4D4", "#7FD4C8", "#F0A860")
_RAMP: Final = ("#FFFFFF", "#D6E8E4", "#A5CFCB", "#6FB3B8", "#14566B", "#071E30")
_DARK: Final = frozenset(_RAMP[4:])
_EDGES: Final[Mapping[Measure, tuple[int, ...]]] = {
    "age": (30, 90, 180, 365, 730),
    "growth": (0, 50, 100, 200, 400),
    "seen": (1, 15, 45, 90, 180),
}


@dataclass(frozen=True, slots=True)
class Swatch:
    """The look of a class. `path` is an SVG path in a 24 by 24 square; `dashed` where nothing was measured."""

    key: str
    letter: str
    word: str
    fill: str
    ink: str = "#000000"
    path: str = _SQUARE
    dashed: bool = False
    genet: bool = False

    @property
    def of(self) -> str:
        """The class by itself, whatever else is on a map: for addresses."""
        return f"genet:{self.word}" if self.genet else self.key

    @property
    def bar(self) -> str:
        """Its fill in a bar, where a dashed ring would not show."""
        return "url(#hatch)" if self.dashed else self.fill


@dataclass(frozen=True, slots=True)
class Key:
    """The classes of one map, in the order of its legend; the last one is that nothing was measured."""

    by: Measure
    swatches: Sequence[Swatch]

    def of(self, measured: Measured | None) -> Swatch:
        """The class of a value."""
        if measured is None:
            return self.swatches[-1]
        if isinstance(measured.value, str):
            return next(one for one in self.swatches if one.word == measured.value)
        return self.swatches[bisect_right(_EDGES[self.by], measured.value)]

    def counts(self, values: Iterable[Measured | None]) -> list[tuple[Swatch, int]]:
        """How many are of each class, those without any left out."""
        found = dict.fromkeys((one.key for one in self.swatches), 0)
        for value in values:
            found[self.of(value).key] += 1
        return [(one, found[one.key]) for one in self.swatches if found[one.key]]


def key_of(by: Measure, values: Iterable[Measured]) -> Key:
    """The classes for a map of these values."""
    none = Swatch("none", "–", _nothing(by), "none", "#0B1622", _DISC, dashed=True)
    if by == "genet":
        names = sorted({str(one.value) for one in values})
        return Key(by, [*(_genet(index, name) for index, name in enumerate(names)), none])
    return Key(by, [*(_step(by, index) for index in range(len(_RAMP))), none])


def _genet(index: int, name: str) -> Swatch:
    shape = _SHAPES[index // len(_HUES) % len(_SHAPES)]
    return Swatch(f"g{index}", _letters(index), name, _HUES[index % len(_HUES)], path=shape, genet=True)


def _letters(index: int) -> str:
    """a, b, ... z, aa, ab, ...: small, so that nobody takes one for a condition."""
    text = ""
    while index >= 0:
        index, rest = divmod(index, 26)
        text = chr(ord("a") + rest) + text
        index -= 1
    return text


def _step(by: Measure, index: int) -> Swatch:
    fill = _RAMP[index]
    return Swatch(f"{by}{index + 1}", str(index + 1), _range(by, index), fill, "#FFFFFF" if fill in _DARK else "#000000")


def _range(by: Measure, index: int) -> str:
    edges = _EDGES[by]
    if by == "growth":
        if index == 0:
            return gettext("got smaller")
        if index == len(edges):
            return gettext("%(low)s mm a year and more") % {"low": edges[-1]}
        return gettext("%(low)s to under %(high)s mm a year") % {"low": edges[index - 1], "high": edges[index]}
    if index == len(edges):
        return gettext("%(low)s days and more") % {"low": edges[-1]}
    low, last = edges[index - 1] if index else 0, edges[index] - 1
    if low == last:
        return gettext("on the day itself")
    return gettext("%(low)s to %(last)s days") % {"low": low, "last": last}


def _nothing(by: Measure) -> str:
    words: Mapping[Measure, str] = {
        "genet": mark("genet not recorded"),
        "age": mark("nobody recorded its planting"),
        "growth": mark("not measured on two days"),
        "seen": mark("never looked at"),
    }
    return gettext(words[by])


def measured_words(measured: Measured | None, by: Measure) -> str:
    """A value as people write it, with what it rests on."""
    if measured is None:
        return _nothing(by)
    if measured.growth is not None:
        growth = measured.growth
        measure = gettext("total linear extension") if growth.measure == "tle_mm" else gettext("length")
        text = gettext("%(rate)s mm a year by %(measure)s, n = %(n)s, %(first)s to %(last)s")
        days = {"first": day_words(growth.first.day), "last": day_words(growth.last.day)}
        return text % {"rate": signed(growth.mm_a_year), "measure": measure, "n": growth.n, **days}
    if isinstance(measured.value, int):
        days_ago = ngettext("%(n)s day", "%(n)s days", measured.value) % {"n": numeral(measured.value)}
        return f"{days_ago}, {day_words(measured.day)}"
    return str(measured.value)
