"""Genets, and the family of each."""

from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.pages.addresses import to_genet
from server.pages.door import Caller
from server.pages.family import draw_family
from server.pages.paging import Part
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.states import STATE_LOOKS
from server.pages.surveys import PageNumber
from server.review.genets import list_genets, read_family
from server.review.stock import State

__all__ = ["router"]

router = APIRouter()

RAMETS_AT_ONCE: Final = 100


@router.get("/genets")
def show_genets(request: Request, store: Record, visitor: Caller) -> Response:
    """Every genet with what became of its ramets."""
    return render(request, "genets.html", visitor, {"lines": list_genets(store), "STATE_LOOKS": STATE_LOOKS})


@router.get("/genets/{name}")
def show_genet(
    request: Request, store: Record, visitor: Caller, name: str, state: State | None = None, page: PageNumber = 1
) -> Response:
    """A genet's family tree, where its ramets are now, and each of them in a table."""
    family = read_family(store, name)
    those = family.those(state)
    part = Part(page, RAMETS_AT_ONCE, len(those))
    context = {
        "family": family,
        "tree": draw_family(family) if state is None and page == 1 else None,
        "state": state,
        "ramets": those[part.first : part.last],
        "part": part,
        "address": to_genet(name),
        "STATE_LOOKS": STATE_LOOKS,
    }
    return render(request, "genet.html", visitor, context)
