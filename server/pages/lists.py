"""What does not add up, and what could not be understood."""

from datetime import UTC, datetime
from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.pages.door import Caller
from server.pages.paging import Part
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.surveys import PageNumber
from server.review.discrepancies import list_discrepancies
from server.review.roster import read_roster
from server.review.set_aside import count_set_aside, list_set_aside
from shared_schema.discrepancies import SORTS

__all__ = ["router"]

router = APIRouter()

ROWS_AT_ONCE: Final = 100


@router.get("/discrepancies")
def show_discrepancies(request: Request, store: Record, visitor: Caller, page: PageNumber = 1) -> Response:
    """What does not add up across the record."""
    found = list_discrepancies(store)
    part = Part(page, ROWS_AT_ONCE, len(found))
    context = {"found": found[part.first : part.last], "sorts": SORTS, "part": part}
    return render(request, "discrepancies.html", visitor, context)


@router.get("/set-aside")
def show_set_aside(request: Request, store: Record, visitor: Caller, page: PageNumber = 1) -> Response:
    """Entries that are kept and fold to nothing, each with the reason."""
    part = Part(page, ROWS_AT_ONCE, count_set_aside(store))
    entries = [
        (one, datetime.fromtimestamp(one.received_ms / 1000, UTC)) for one in list_set_aside(store, part.first, ROWS_AT_ONCE)
    ]
    return render(request, "set_aside.html", visitor, {"entries": entries, "part": part, "roster": read_roster(store)})
