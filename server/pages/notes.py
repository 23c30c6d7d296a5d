"""Notes that are written at the office."""

from typing import Annotated

from fastapi import APIRouter, Form
from fastapi.responses import RedirectResponse, Response

from server.pages.addresses import survey_named, to_fragment
from server.pages.door import Checked
from server.pages.record import Record
from server.review.notes import write_note

__all__ = ["router"]

router = APIRouter()


@router.post("/fragments/{name}/notes")
def send_note(
    store: Record,
    visitor: Checked,
    name: str,
    text: Annotated[str, Form(max_length=8000)] = "",
    survey: Annotated[str, Form(max_length=40)] = "",
) -> Response:
    """Write a note about a fragment, within a survey that saw it or for good."""
    write_note(store, visitor.person, f"fragment:{name}", survey_named(survey), text)
    return RedirectResponse(to_fragment(name), 303)
