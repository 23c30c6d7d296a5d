"""A page says by itself which question its reader is at, and when they left it."""

from typing import Annotated

from fastapi import APIRouter, Form
from fastapi.responses import Response

from server.pages.door import Checked
from server.pages.record import Record
from server.review.claims import claim, let_go
from server.review.questions import Key, read_question

__all__ = ["router"]

router = APIRouter()


@router.post("/claims")
def come_to(
    store: Record,
    visitor: Checked,
    subject: Annotated[str, Form(max_length=200)],
    fact: Annotated[str, Form(max_length=40)],
    survey: Annotated[str, Form(max_length=40)] = "",
) -> Response:
    """They are at a question now, and at no other in this browser."""
    claim(store, visitor.session, visitor.person, read_question(store, survey, subject, fact).key)
    return Response(status_code=204)


@router.post("/claims/ended")
def leave(
    store: Record,
    visitor: Checked,
    subject: Annotated[str, Form(max_length=200)] = "",
    fact: Annotated[str, Form(max_length=40)] = "",
    survey: Annotated[str, Form(max_length=40)] = "",
) -> Response:
    """They left a question: it may be that they are at another already."""
    let_go(store, visitor.session, Key(survey, subject, fact))
    return Response(status_code=204)
