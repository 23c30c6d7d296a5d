"""A survey on one page to print, and the fragments behind each figure of its stock."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.pages.door import Caller
from server.pages.figures import tenths_words
from server.pages.paging import Part
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.surveys import PageNumber
from server.pages.wording import gettext, mark
from server.review.digests import Digest, list_stock, list_stock_of_species, read_digest
from server.review.flows import COLUMNS, GAINS, LOSSES, Column
from server.review.roster import read_roster
from server.review.stock_book import StockLine
from server.review.structures import natural

__all__ = ["router"]

router = APIRouter()

AT_ONCE: Final = 200
COLUMN_WORDS: Final[Mapping[Column, str]] = {
    "opening": mark("Opening"),
    "collected": mark("Collected"),
    "propagated": mark("Propagated"),
    "found": mark("Found again"),
    "returned": mark("Brought back"),
    "died": mark("Died"),
    "missing": mark("Missing"),
    "outplanted": mark("Outplanted"),
    "removed": mark("Taken out"),
    "closing": mark("Closing"),
    "moved": mark("Moved within the nursery"),
}


@dataclass(frozen=True, slots=True)
class Kind:
    """The genets of one species; `species` "" where it was not recorded."""

    species: str
    lines: Sequence[StockLine]

    def sum(self, column: Column) -> int:
        """A column of all of them."""
        return sum(line.counts.get(column, 0) for line in self.lines)


def _kinds(digest: Digest) -> list[Kind]:
    by_species: dict[str, list[StockLine]] = {}
    for line in digest.stock.lines:
        by_species.setdefault(digest.species.get(line.genet or "", ""), []).append(line)
    return [
        Kind(species, sorted(lines, key=lambda line: (line.genet is None, natural(line.genet or ""))))
        for species, lines in sorted(by_species.items(), key=lambda each: (not each[0], each[0]))
    ]


def _percent(share: Fraction) -> str:
    """A share in per cent, one decimal, cut off and not rounded: 99.96 is not all of them."""
    tenths = share * 1000 // 1
    return gettext("%(number)s %%") % {"number": tenths_words(int(tenths))}


@router.get("/surveys/{survey}/digest")
def show_digest(request: Request, store: Record, visitor: Caller, survey: str) -> Response:
    """A survey on one page: stock by species and genet, conditions, coverage, what is open, who was there and when."""
    digest = read_digest(store, survey)
    context = {
        "digest": digest,
        "kinds": _kinds(digest),
        "columns": COLUMNS,
        "GAINS": GAINS,
        "LOSSES": LOSSES,
        "COLUMN_WORDS": COLUMN_WORDS,
        "percent": _percent,
        "roster": read_roster(store),
        "missed": [(name, one) for name, one in digest.coverage.items() if len(one.signed) < len(one.pages)],
    }
    return render(request, "digest.html", visitor, context)


@router.get("/surveys/{survey}/stock/{column}")
def show_stock(  # all of them from the address
    request: Request,
    store: Record,
    visitor: Caller,
    survey: str,
    column: Column,
    genet: str | None = None,
    species: str | None = None,
    page: PageNumber = 1,
) -> Response:
    """The fragments that a figure of the stock counts: of a genet, or of all genets of a species.

    "" is those of which it was not recorded, absent is all.
    """
    first = (page - 1) * AT_ONCE
    if species is not None:
        found, total = list_stock_of_species(store, survey, column, species, first, AT_ONCE)
    else:
        found, total = list_stock(store, survey, column, genet or None, genet is None, first, AT_ONCE)
    narrowed = {name: value for name, value in (("genet", genet), ("species", species)) if value is not None}
    context = {
        "survey": survey,
        "column": column,
        "word": COLUMN_WORDS[column],
        "genet": genet,
        "species": species,
        "asked": urlencode(narrowed),
        "found": found,
        "part": Part(page, AT_ONCE, total),
    }
    return render(request, "stock.html", visitor, context)
