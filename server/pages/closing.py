"""Signing a survey off, and what came after."""

from dataclasses import dataclass
from typing import Annotated, Final

from fastapi import APIRouter, Depends, Form, Request
from fastapi.responses import RedirectResponse, Response

from server.pages.door import Caller, Checked
from server.pages.paging import Part
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.surveys import PageNumber
from server.pages.telling import in_words
from server.review.closing import (
    StillOpen,
    close_survey,
    count_late,
    list_kept,
    list_late,
    look_over_closing,
    open_again,
    read_closing,
)
from server.review.planning import site_zone
from server.review.roster import read_roster
from server.store.record import RecordStore
from shared_schema.errors import RecordError

__all__ = ["router"]

router = APIRouter()

LATE_AT_ONCE: Final = 100

_Count = Annotated[int, Form(ge=0)]


@dataclass(frozen=True, slots=True)
class _Shown:
    """What the form showed as open."""

    questions: _Count
    unseen: _Count
    not_reached: _Count
    unsigned: _Count
    unlikely: _Count
    kept: Annotated[str, Form(max_length=200_000)] = ""

    @property
    def still_open(self) -> StillOpen:
        """The same as it was counted. `kept` has the names between spaces: a form has room for few fields."""
        return StillOpen(self.questions, self.unseen, self.not_reached, self.unsigned, self.unlikely, tuple(self.kept.split()))


Shown = Annotated[_Shown, Depends()]


@router.get("/surveys/{survey}/sign-off")
def show_closing(request: Request, store: Record, visitor: Caller, survey: str, page: PageNumber = 1) -> Response:
    """What is open, the sign-off where there is one, and what came after it."""
    return _show(request, store, visitor, survey, page)


def _show(
    request: Request, store: RecordStore, visitor: Caller, survey: str, page: int = 1, wrong: str = "", statement: str = ""
) -> Response:
    closing = read_closing(store, survey)
    late = 0 if closing is None else count_late(store, survey, closing)
    part = Part(page, LATE_AT_ONCE, late)
    arrived = [] if closing is None else list_late(store, survey, closing, part.first, LATE_AT_ONCE)
    found, still_open = look_over_closing(store, survey)
    zone = site_zone(store)
    context = {
        "survey": survey,
        "sums": found.summary,
        "progress": found.progress,
        "still_open": still_open,
        "kept": list_kept(store, survey) if still_open.kept else (),
        "at_site": lambda moment: moment if zone is None else moment.astimezone(zone),
        "closing": closing,
        "late": late,
        "arrived": arrived,
        "part": part,
        "wrong": wrong,
        "statement": statement,
        "roster": read_roster(store),
    }
    return render(request, "closing.html", visitor, context, 409 if wrong else 200)


@router.post("/surveys/{survey}/sign-off")
def sign_off(
    request: Request,
    store: Record,
    visitor: Checked,
    survey: str,
    shown: Shown,
    statement: Annotated[str, Form(max_length=4000)] = "",
) -> Response:
    """Sign it off, where the counts are still those that the page showed."""
    try:
        close_survey(store, visitor.person, survey, statement.strip(), shown.still_open)
    except RecordError as error:
        return _show(request, store, visitor, survey, wrong=in_words(error), statement=statement)
    return RedirectResponse(f"/surveys/{survey}/sign-off", 303)


@router.post("/surveys/{survey}/sign-off/taken-back")
def take_back_sign_off(store: Record, visitor: Checked, survey: str) -> Response:
    """Open the survey again."""
    open_again(store, visitor.person, survey)
    return RedirectResponse(f"/surveys/{survey}/sign-off", 303)
