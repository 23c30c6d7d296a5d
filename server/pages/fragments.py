"""The history of one fragment."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.pages.door import Caller
from server.pages.plots import plot_sizes
from server.pages.record import Record
from server.pages.rendering import render
from server.review.albums import read_album
from server.review.histories import read_history
from server.review.roster import read_roster

__all__ = ["router"]

router = APIRouter()


@router.get("/fragments/{name}")
def show_fragment(request: Request, store: Record, visitor: Caller, name: str) -> Response:
    """Survey by survey what was found, who said so, and whom it descends from."""
    history = read_history(store, name)
    album = read_album(store, f"fragment:{name}")
    context = {
        "history": history,
        "roster": read_roster(store),
        "album": album,
        "plot": plot_sizes(album.sizes.tle, album.sizes.length),
    }
    return render(request, "fragment.html", visitor, context)
