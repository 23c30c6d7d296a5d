"""The list of surveys, and one survey with its structures."""

from typing import Annotated, Final, NamedTuple

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response
from markupsafe import Markup

from server.pages.door import Caller
from server.pages.drawings import page_called
from server.pages.paging import Part
from server.pages.portraits import Portrait, portray
from server.pages.record import Record
from server.pages.rendering import render, write_part
from server.pages.wording import language
from server.review.closing import count_late, read_closing
from server.review.explaining import count_doubts
from server.review.questions import count_questions
from server.review.remembering import Shelf, remembered
from server.review.roster import read_roster
from server.review.set_aside import count_set_aside
from server.review.surveys import Overview, StructureFound, look_over_survey, sum_up_surveys
from server.review.touched import Touched
from server.store.engine import reading
from server.store.record import RecordStore

__all__ = ["PageNumber", "draw_cards", "router"]

router = APIRouter()

SURVEYS_AT_ONCE: Final = 6
STRUCTURES_AT_ONCE: Final = 50
MOST_AT_ONCE: Final = 200
"""So many structures are still shown on one page."""

_CARDS: Final = Shelf("cards", most=8)

PageNumber = Annotated[int, Query(alias="page", ge=1, le=100_000)]


@router.get("/")
def show_surveys(request: Request, store: Record, visitor: Caller, page: PageNumber = 1) -> Response:
    """Surveys, newest first."""
    first = (page - 1) * SURVEYS_AT_ONCE
    summaries, total = sum_up_surveys(store, first, SURVEYS_AT_ONCE)
    context = {
        "summaries": summaries,
        "part": Part(page, SURVEYS_AT_ONCE, total),
        "standing_questions": count_questions(store, ""),
        "set_aside": count_set_aside(store),
    }
    return render(request, "surveys.html", visitor, context)


class Card(NamedTuple):
    """A structure of a survey as its drawing, and as a part of a page in the reader's language."""

    found: StructureFound
    drawn: Portrait | None
    written: Markup


def draw_cards(store: RecordStore, survey: str, page: int) -> tuple[Overview, list[Card], Part]:
    """A survey, and the structures on one page of it, counted from 1, each as a card."""
    first = (page - 1) * STRUCTURES_AT_ONCE
    overview = look_over_survey(store, survey, first, STRUCTURES_AT_ONCE, MOST_AT_ONCE)
    total = len(overview.names)
    part = Part(page, MOST_AT_ONCE if total <= MOST_AT_ONCE else STRUCTURES_AT_ONCE, total)

    def draw(found: StructureFound) -> Card:
        portrait = portray(found.map)
        written = write_part("structure_card.html", survey=survey, found=found, drawn=portrait)
        return Card(found, portrait, written)

    def mend(held: list[Card], _: Touched) -> list[Card]:
        still = {id(one.found): one for one in held}
        return [still.get(id(found)) or draw(found) for found in overview.structures]

    with reading(store.engine) as connection:
        cards = remembered(
            connection,
            store.nursery,
            _CARDS,
            f"{survey} {first} {language().code}",
            lambda: list(map(draw, overview.structures)),
            mend=mend,
            until="",
            beside=overview.structures,
        )
    return overview, cards, part


@router.get("/surveys/{survey}")
def show_survey(request: Request, store: Record, visitor: Caller, survey: str, page: PageNumber = 1) -> Response:
    """A survey: each structure as a small drawing with its counts."""
    overview, cards, part = draw_cards(store, survey, page)
    closing = read_closing(store, survey)
    context = {
        "overview": overview,
        "cards": cards,
        "part": part,
        "closing": closing,
        "late": 0 if closing is None else count_late(store, survey, closing),
        "unlikely": count_doubts(store, survey),
        "set_aside": count_set_aside(store, survey),
        "roster": read_roster(store),
        "page_called": page_called,
    }
    return render(request, "survey.html", visitor, context)
