"""What changes the stock of the nursery, fragment by fragment, survey by survey.

The stock must balance, for every genet and in all:

    opening + collected + propagated + found again + brought back = closing + died + missing + outplanted + taken out

Dead and missing are two columns and never one. Moves within the nursery change nothing and are counted beside it. What was
seen of a fragment that nobody planted is a discrepancy, and no stock.
"""

from collections.abc import Iterator, Mapping
from typing import Final, Literal, NamedTuple, TypeAlias

from server.review.stock import State, state_of
from server.review.turns import Line
from shared_schema.ids import structure_of_place

__all__ = ["COLUMNS", "GAINS", "LOSSES", "Column", "Flow", "flows_of"]

Column: TypeAlias = Literal[
    "opening", "collected", "propagated", "found", "returned", "died", "missing", "outplanted", "removed", "closing", "moved"
]
GAINS: Final[tuple[Column, ...]] = ("collected", "propagated", "found", "returned")
LOSSES: Final[tuple[Column, ...]] = ("died", "missing", "outplanted", "removed")
COLUMNS: Final[tuple[Column, ...]] = ("opening", *GAINS, *LOSSES, "closing")

_LEAVES: Final[Mapping[State, Column]] = {"dead": "died", "lost": "missing", "outplanted": "outplanted", "removed": "removed"}
_RETURNS: Final[Mapping[State, Column]] = {"dead": "found", "lost": "found", "outplanted": "returned", "removed": "returned"}


class Flow(NamedTuple):
    """Why a fragment counts in a column of a survey. `held`: it was part of the opening stock."""

    survey: str
    column: Column
    held: bool


def flows_of(line: Line, cut: bool) -> Iterator[Flow]:
    """All changes that a fragment makes to the stock, and its moves. `cut`: it has a mother in the nursery.

    What the first record says belongs to no survey: it is part of every opening.
    """
    place: str | None = None
    status: str | None = None
    before: State | None = None
    placed = looked = ""
    for survey, put, found in line:
        earlier = place
        if put is not None:
            place, placed = put, survey
        if found is not None:
            status, looked = found, survey
        if place is None:
            continue
        after = state_of(place, placed, status, looked)
        if survey:
            if before != after:
                yield from _changes(survey, before, after, cut)
            elif after == "held" and put is not None and put != earlier and structure_of_place(put) is not None:
                yield Flow(survey, "moved", held=True)
        before = after


def _changes(survey: str, before: State | None, after: State, cut: bool) -> Iterator[Flow]:
    held = before == "held"
    if before is None:
        yield Flow(survey, "propagated" if cut else "collected", held)
    elif not held and after == "held":
        yield Flow(survey, _RETURNS[before], held)
    if after != "held" and (held or before is None):
        yield Flow(survey, _LEAVES[after], held)
