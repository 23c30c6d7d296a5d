"""The stock of the nursery through a survey.

It must balance, for every genet and in all:

    opening + collected + propagated + found again + brought back = closing + died + missing + outplanted + taken out

Opening is what was held when the survey began: everything of earlier surveys and of the first record. Closing is what was
held at its end. Dead and missing are two columns and never one. Moves within the nursery change nothing and are counted
beside it.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal, NamedTuple, TypeAlias

from server.review.stock import State
from server.review.turns import Line, Turns, place_before, state_by
from shared_schema.ids import structure_of_place

__all__ = ["COLUMNS", "GAINS", "LOSSES", "Column", "Flow", "Stock", "StockLine", "flows_in", "stock_in"]

Column: TypeAlias = Literal[
    "opening", "collected", "propagated", "found", "returned", "died", "missing", "outplanted", "removed", "closing", "moved"
]
GAINS: Final[tuple[Column, ...]] = ("collected", "propagated", "found", "returned")
LOSSES: Final[tuple[Column, ...]] = ("died", "missing", "outplanted", "removed")
COLUMNS: Final[tuple[Column, ...]] = ("opening", *GAINS, *LOSSES, "closing")

_LEAVES: Final[Mapping[State, Column]] = {"dead": "died", "lost": "missing", "outplanted": "outplanted", "removed": "removed"}
_RETURNS: Final[Mapping[State, Column]] = {"dead": "found", "lost": "found", "outplanted": "returned", "removed": "returned"}


class Flow(NamedTuple):
    """Why a fragment counts in a column of a survey."""

    subject: str
    column: Column


@dataclass(frozen=True, slots=True)
class StockLine:
    """One genet's stock; `genet` None where it was not recorded. `held` counts what was lost of the opening stock alone."""

    genet: str | None
    counts: Mapping[Column, int]
    held: Mapping[Column, int]

    @property
    def balances(self) -> bool:
        """Whether nothing came from nowhere or went nowhere."""
        gained, lost = (sum(self.counts.get(column, 0) for column in several) for several in (GAINS, LOSSES))
        return self.counts.get("opening", 0) + gained == self.counts.get("closing", 0) + lost

    @property
    def survival(self) -> tuple[Fraction, Fraction] | None:
        """Of the opening stock: the share that did not die or go missing, and the share that did not die of those found.

        The first counts missing as dead, the second leaves them out. None without an opening stock to speak of.
        """
        opening, died, missing = self.counts.get("opening", 0), self.held.get("died", 0), self.held.get("missing", 0)
        if opening in (0, missing):
            return None
        return Fraction(opening - died - missing, opening), Fraction(opening - missing - died, opening - missing)


@dataclass(frozen=True, slots=True)
class Stock:
    """The stock of a survey, a line for each genet in the order of names, and all of it in one."""

    lines: tuple[StockLine, ...]
    total: StockLine


def flows_in(turns: Turns, parents: Mapping[str, str | None], survey: str) -> Iterator[Flow]:
    """Every change of stock in a survey, and every move within the nursery."""
    for subject, line in turns.lines.items():
        if all(turn.survey != survey for turn in line):
            continue
        yield from _flows_of(subject, line, parents.get(subject), survey)


def _flows_of(subject: str, line: Line, parent: str | None, survey: str) -> Iterator[Flow]:
    before, after = state_by(line, survey, before=True), state_by(line, survey)
    planted = any(turn.place is not None for turn in line)
    if before is None and planted:
        yield Flow(subject, "propagated" if parent is not None else "collected")
    elif before is None and after == "held":
        yield Flow(subject, "found")
    elif before is not None and before != "held" and after == "held":
        yield Flow(subject, _RETURNS[before])
    if after is not None and after != "held" and (before == "held" or (before is None and planted)):
        yield Flow(subject, _LEAVES[after])
    if before == after == "held" and _moved(line, survey):
        yield Flow(subject, "moved")


def _moved(line: Line, survey: str) -> bool:
    put = next((turn.place for turn in line if turn.survey == survey), None)
    return put is not None and structure_of_place(put) is not None and put != place_before(line, survey)


def stock_in(turns: Turns, flows: Sequence[Flow], survey: str) -> Stock:
    """The stock of a survey with these flows. Opening and closing are counted from the states, not from the flows."""
    counts: defaultdict[str | None, Counter[Column]] = defaultdict(Counter)
    held: defaultdict[str | None, Counter[Column]] = defaultdict(Counter)
    for genet, many in turns.quiet.items():
        counts[genet].update({"opening": many, "closing": many})
    for subject, line in turns.lines.items():
        genet = turns.genets.get(subject)
        counts[genet]["opening"] += state_by(line, survey, before=True) == "held"
        counts[genet]["closing"] += state_by(line, survey) == "held"
    for subject, column in flows:
        genet = turns.genets.get(subject)
        counts[genet][column] += 1
        held[genet][column] += state_by(turns.lines[subject], survey, before=True) == "held"
    names = sorted(counts, key=lambda name: (name is None, name or ""))
    lines = tuple(StockLine(name, counts[name], held[name]) for name in names if any(counts[name].values()))
    return Stock(lines, StockLine(None, sum(counts.values(), Counter()), sum(held.values(), Counter())))
