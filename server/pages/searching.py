"""One box for everything that can be looked up."""

from typing import Annotated, Final

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from server.pages.addresses import to_entries, to_site, to_subject
from server.pages.door import Caller
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.wording import mark
from server.review.search import MOST, Hit, Sort, search

__all__ = ["router"]

router = APIRouter()

SORT_TITLES: Final[dict[Sort, str]] = {
    "tag": mark("Fragments with this tag"),
    "fragment": mark("Fragments"),
    "position": mark("Positions"),
    "structure": mark("Structures"),
    "genet": mark("Genets"),
    "person": mark("People"),
    "survey": mark("Surveys"),
    "site": mark("Sites on the reef"),
    "entry": mark("Entries"),
}


def _address(sort: Sort, hit: Hit) -> str | None:
    if sort == "entry":
        return to_entries(hit.survey, hit.subject)
    return to_site(hit.subject) if sort == "site" else to_subject(hit.subject)


@router.get("/search")
def show_search(request: Request, store: Record, visitor: Caller, q: Annotated[str, Query(max_length=200)] = "") -> Response:
    """What a text finds, by sort; without one, what can be searched."""
    found = search(store, q)
    groups = [(SORT_TITLES[group.sort], group, [(hit, _address(group.sort, hit)) for hit in group.hits]) for group in found.groups]
    return render(request, "search.html", visitor, {"found": found, "groups": groups, "MOST": MOST, "query": found.text})
