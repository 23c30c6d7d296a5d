"""What a survey says that is unlikely: read, and said to be so."""

from typing import Annotated, Final

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from server.pages.addresses import to_unlikely
from server.pages.door import Caller, Checked, Visitor
from server.pages.paging import Part
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.surveys import PageNumber
from server.pages.telling import in_words
from server.review.explaining import explain_doubt, read_doubts, take_explanation_back
from server.review.roster import read_roster
from server.review.surveys import read_plan
from server.store.record import RecordStore
from shared_schema.errors import NothingSuch, RecordError, SchemaError

__all__ = ["router"]

router = APIRouter()

DOUBTS_AT_ONCE: Final = 50


@router.get("/surveys/{survey}/unlikely")
def show_unlikely(request: Request, store: Record, visitor: Caller, survey: str, page: PageNumber = 1) -> Response:
    """What is unlikely, what nobody explained yet first."""
    return _show(request, store, visitor, survey, page)


def _show(request: Request, store: RecordStore, visitor: Visitor, survey: str, page: int = 1, wrong: str = "") -> Response:
    found = read_doubts(store, survey, (page - 1) * DOUBTS_AT_ONCE, DOUBTS_AT_ONCE)
    context = {
        "plan": read_plan(store, survey),
        "found": found,
        "part": Part(page, DOUBTS_AT_ONCE, found.total),
        "roster": read_roster(store),
        "wrong": wrong,
    }
    return render(request, "unlikely.html", visitor, context, 409 if wrong else 200)


@router.post("/surveys/{survey}/unlikely")
def send_explanation(
    request: Request,
    store: Record,
    visitor: Checked,
    survey: str,
    subject: Annotated[str, Form(max_length=120)],
    about: Annotated[str, Form(max_length=40)],
    text: Annotated[str, Form(max_length=8000)] = "",
) -> Response:
    """Say that it is so, and why."""
    try:
        explain_doubt(store, visitor.person, survey, subject, about, text)
    except NothingSuch:
        raise
    except (RecordError, SchemaError) as error:
        return _show(request, store, visitor, survey, wrong=in_words(error))
    return RedirectResponse(f"{to_unlikely(survey)}", 303)


@router.post("/surveys/{survey}/unlikely/taken-back")
def take_back_explanation(store: Record, visitor: Checked, survey: str, note: Annotated[str, Form(max_length=40)]) -> Response:
    """Take one's own word back: it waits for one again."""
    take_explanation_back(store, visitor.person, survey, note)
    return RedirectResponse(to_unlikely(survey), 303)
