"""The history of one fragment."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.pages.door import Caller
from server.pages.record import Record
from server.pages.rendering import render
from server.review.histories import read_history
from server.review.roster import read_roster

__all__ = ["router"]

router = APIRouter()


@router.get("/fragments/{name}")
def show_fragment(request: Request, store: Record, visitor: Caller, name: str) -> Response:
    """Survey by survey what was found, who said so, and whom it descends from."""
    return render(request, "fragment.html", visitor, {"history": read_history(store, name), "roster": read_roster(store)})
