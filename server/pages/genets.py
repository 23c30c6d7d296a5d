"""Genets, and the family of each."""

from dataclasses import asdict
from typing import Annotated, Final, Literal
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response

from server.pages.addresses import to_genet
from server.pages.door import Caller
from server.pages.family import draw_family
from server.pages.paging import Part
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.states import STATE_LOOKS
from server.pages.surveys import PageNumber
from server.review.genets import Wanted, list_genets, list_unrecorded, read_family
from server.review.stock import State

__all__ = ["router"]

router = APIRouter()

RAMETS_AT_ONCE: Final = 100


@router.get("/genets")
def show_genets(
    request: Request, store: Record, visitor: Caller, unrecorded: State | Literal["every"] | None = None, page: PageNumber = 1
) -> Response:
    """Every genet with what became of its ramets; with `unrecorded` the fragments, in a state or every, whose genet is not."""
    lines = list_genets(store)
    state = None if unrecorded == "every" else unrecorded
    total = sum(one.total if state is None else one.survival.get(state, 0) for one in lines if one.name is None)
    part = Part(page, RAMETS_AT_ONCE, total)
    context = {
        "lines": lines,
        "unrecorded": unrecorded,
        "state": state,
        "found": list_unrecorded(store, state, part.first, RAMETS_AT_ONCE) if unrecorded else [],
        "part": part,
        "STATE_LOOKS": STATE_LOOKS,
    }
    return render(request, "genets.html", visitor, context)


@router.get("/genets/{name}")
def show_genet(  # all of them from the address
    request: Request, store: Record, visitor: Caller, name: str, wanted: Annotated[Wanted, Depends()], page: PageNumber = 1
) -> Response:
    """A genet's family tree, where its ramets are now, and each of them in a table."""
    family = read_family(store, name)
    those = family.those(wanted)
    part = Part(page, RAMETS_AT_ONCE, len(those))
    context = {
        "family": family,
        "tree": draw_family(family) if wanted.everybody and page == 1 else None,
        "wanted": wanted,
        "asked": urlencode({name: value for name, value in asdict(wanted).items() if value is not None and value is not False}),
        "ramets": those[part.first : part.last],
        "part": part,
        "address": to_genet(name),
        "STATE_LOOKS": STATE_LOOKS,
    }
    return render(request, "genet.html", visitor, context)
