"""Histories: of a position, of a structure, of somebody; and the entries behind any finding."""

from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.pages.addresses import survey_named
from server.pages.door import Caller
from server.pages.paging import Part
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.states import STATE_LOOKS
from server.pages.surveys import PageNumber
from server.review.albums import photos_in
from server.review.crews import read_crew
from server.review.places import read_position
from server.review.residents import list_residents
from server.review.roster import read_roster
from server.review.sites import read_site
from server.review.stock import State
from server.review.structure_histories import list_structures, read_structure
from server.store.engine import reading
from shared_schema.errors import NothingSuch

__all__ = ["router"]

router = APIRouter()

AT_ONCE: Final = 100
STRUCTURES_AT_ONCE: Final = 300


@router.get("/positions/{address:path}")
def show_position(request: Request, store: Record, visitor: Caller, address: str) -> Response:
    """Who hung at a position, from when to when, and what was found there."""
    return render(request, "position.html", visitor, {"history": read_position(store, address)})


@router.get("/structures")
def show_structures(request: Request, store: Record, visitor: Caller, page: PageNumber = 1) -> Response:
    """Every structure, with what became of those that hang on it."""
    found = list_structures(store)
    part = Part(page, STRUCTURES_AT_ONCE, len(found))
    context = {"found": found[part.first : part.last], "part": part, "STATE_LOOKS": STATE_LOOKS}
    return render(request, "structures.html", visitor, context)


@router.get("/structures/{structure}")
def show_structure_history(  # all of them from the address
    request: Request, store: Record, visitor: Caller, structure: str, state: State | None = None, page: PageNumber = 1
) -> Response:
    """A structure with its upkeep log and its surveys, and those in a state of the fragments whose place is on it."""
    history = read_structure(store, structure)
    residents = list_residents(store, structure, state, (page - 1) * AT_ONCE, AT_ONCE)
    with reading(store.engine) as connection:
        photos = photos_in(connection, store.nursery, [one.entry.id for one in history.of("photo")])
    context = {
        "history": history,
        "photos": photos,
        "roster": read_roster(store),
        "residents": residents,
        "state": state,
        "part": Part(page, AT_ONCE, residents.total),
        "STATE_LOOKS": STATE_LOOKS,
    }
    return render(request, "structure_history.html", visitor, context)


@router.get("/crew/{person}")
def show_crew(request: Request, store: Record, visitor: Caller, person: str, survey: str = "") -> Response:
    """The dives that somebody was on, in all surveys or in one."""
    crew = read_crew(store, person)
    dives = [dive for dive in crew.dives if survey in ("", dive.survey)]
    context = {"crew": crew, "dives": dives, "survey": survey, "roster": read_roster(store)}
    return render(request, "crew.html", visitor, context)


@router.get("/surveys/{survey}/entries/{sort}/{name:path}")
def show_entries(request: Request, store: Record, visitor: Caller, survey: str, sort: str, name: str) -> Response:
    """A finding and the entries behind it, as they were written."""
    of, subject = survey_named(survey), f"{sort}:{name}"
    entries = store.entries_of(of, subject)
    if not entries:
        raise NothingSuch(
            "%(survey)s says nothing of %(subject)s: there are no entries to show", survey=of or "standing facts", subject=subject
        )
    context = {"finding": store.finding(of, subject), "entries": entries, "roster": read_roster(store), "sort": sort}
    return render(request, "entries.html", visitor, context)


@router.get("/sites/{site}")
def show_site(request: Request, store: Record, visitor: Caller, site: str, page: PageNumber = 1) -> Response:
    """What was brought to a site on the reef."""
    found, total = read_site(store, site, (page - 1) * AT_ONCE, AT_ONCE)
    return render(request, "site.html", visitor, {"site": site, "found": found, "part": Part(page, AT_ONCE, total)})
