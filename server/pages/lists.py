"""What could not be understood."""

from datetime import UTC, datetime
from typing import Annotated, Final

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from server.pages.door import Caller
from server.pages.paging import Part
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.surveys import PageNumber
from server.review.roster import read_roster
from server.review.set_aside import count_set_aside, list_set_aside

__all__ = ["router"]

router = APIRouter()

ROWS_AT_ONCE: Final = 100


@router.get("/set-aside")
def show_set_aside(
    request: Request,
    store: Record,
    visitor: Caller,
    page: PageNumber = 1,
    survey: Annotated[str | None, Query(max_length=40)] = None,
) -> Response:
    """Entries that are kept and fold to nothing, each with the reason; with a survey those that say that they are of it."""
    part = Part(page, ROWS_AT_ONCE, count_set_aside(store, survey))
    held = list_set_aside(store, part.first, ROWS_AT_ONCE, survey)
    entries = [(one, datetime.fromtimestamp(one.received_ms / 1000, UTC)) for one in held]
    context = {"entries": entries, "part": part, "roster": read_roster(store), "survey": survey}
    return render(request, "set_aside.html", visitor, context)
