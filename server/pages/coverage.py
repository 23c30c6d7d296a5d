"""How far a survey got, structure by structure and page by page."""

from dataclasses import asdict
from typing import Annotated, Final
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response

from server.pages.door import Caller
from server.pages.drawings import page_called
from server.pages.paging import Part
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.surveys import PageNumber
from server.review.missing import Pages, look_over_progress
from server.review.roster import read_roster

__all__ = ["router"]

router = APIRouter()

STRUCTURES_AT_ONCE: Final = 30


@router.get("/surveys/{survey}/coverage")
def show_coverage(
    request: Request, store: Record, visitor: Caller, survey: str, which: Annotated[Pages, Depends()], page: PageNumber = 1
) -> Response:
    """The pages that are not signed off yet, with who saw what of them; or every page, those in a state, or of a structure."""
    seen = look_over_progress(store, survey, which, (page - 1) * STRUCTURES_AT_ONCE, STRUCTURES_AT_ONCE)
    context = {
        "plan": seen.plan,
        "progress": seen.progress,
        "some": seen.some,
        "which": which,
        "asked": urlencode({name: value for name, value in asdict(which).items() if value}),
        "part": Part(page, STRUCTURES_AT_ONCE, seen.total),
        "roster": read_roster(store),
        "page_called": page_called,
    }
    return render(request, "coverage.html", visitor, context)
