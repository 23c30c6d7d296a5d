"""How far a survey got, structure by structure and page by page."""

from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.pages.door import Caller
from server.pages.drawings import page_called
from server.pages.paging import Part
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.surveys import PageNumber
from server.review.missing import look_over_progress
from server.review.roster import read_roster

__all__ = ["router"]

router = APIRouter()

STRUCTURES_AT_ONCE: Final = 50


@router.get("/surveys/{survey}/coverage")
def show_coverage(
    request: Request, store: Record, visitor: Caller, survey: str, page: PageNumber = 1, whole: bool = False
) -> Response:
    """The pages that are not signed off yet, with who saw what of them; with `whole` every page."""
    seen = look_over_progress(store, survey, whole, (page - 1) * STRUCTURES_AT_ONCE, STRUCTURES_AT_ONCE)
    context = {
        "plan": seen.plan,
        "progress": seen.progress,
        "some": seen.some,
        "whole": whole,
        "part": Part(page, STRUCTURES_AT_ONCE, seen.total),
        "roster": read_roster(store),
        "page_called": page_called,
    }
    return render(request, "coverage.html", visitor, context)
