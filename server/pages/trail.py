"""The trail, newest first."""

from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.access.accounts import list_accounts
from server.access.trail import COMMAND_LINE, STRANGER, count_trail, read_trail
from server.pages.door import Caller
from server.pages.paging import Part
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.surveys import PageNumber
from server.review.roster import read_roster

__all__ = ["router"]

router = APIRouter()

LINES_AT_ONCE: Final = 100


@router.get("/trail")
def show_trail(request: Request, store: Record, visitor: Caller, page: PageNumber = 1) -> Response:
    """Who let whom or what in or out."""
    part = Part(page, LINES_AT_ONCE, count_trail(store))
    lines = read_trail(store, part.first, LINES_AT_ONCE)
    roster = read_roster(store)
    context = {
        "lines": lines,
        "part": part,
        "roster": roster,
        "names": {**roster.people, **{one.person: one.name for one in list_accounts(store)}},
        "command_line": COMMAND_LINE.person,
        "stranger": STRANGER,
    }
    return render(request, "trail.html", visitor, context)
