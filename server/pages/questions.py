"""Questions side by side, and the answers to them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Annotated, Any, Final

from fastapi import APIRouter, Depends, Form, Request
from fastapi.responses import RedirectResponse, Response

from server.pages.addresses import survey_named, to_question
from server.pages.door import Caller, Checked, Visitor
from server.pages.drawings import Ground, grounds_of
from server.pages.paging import Part
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.surveys import PageNumber
from server.pages.telling import in_words
from server.pages.values import value_from_form
from server.review.claims import claim, let_go
from server.review.maps import StructureMap, maps_in
from server.review.questions import Question, count_questions, list_questions, read_question, read_questions
from server.review.roster import read_roster
from server.review.rulings import find_ruling, give_ruling, take_ruling_back
from server.review.structures import structures_in
from server.store.engine import reading
from server.store.record import RecordStore
from shared_schema.errors import SchemaError

__all__ = ["Card", "router"]

router = APIRouter()

QUESTIONS_AT_ONCE: Final = 10
OTHER: Final = "other"


@dataclass(frozen=True, slots=True)
class Card:
    """A question as shown, with the drawing of its page.

    `answered`: an answer was just given, and the reader's place is here; `wrong` is why one was not taken.
    """

    question: Question
    ground: Ground | None
    map: StructureMap | None
    answered: bool = False
    wrong: str = ""


def _cards(store: RecordStore, questions: Sequence[Question]) -> list[Card]:
    """Questions of one survey with their drawings."""
    names = {question.key.structure for question in questions if question.key.structure}
    survey = questions[0].key.survey if questions else ""
    with reading(store.engine) as connection:
        maps = maps_in(connection, store.nursery, survey, structures_in(connection, store.nursery, names))
    return [_card(question, maps.get(question.key.structure or "")) for question in questions]


def _card(question: Question, found: StructureMap | None) -> Card:
    path = (question.key.place or "").partition("/")[2]
    design = None if found is None else found.hung.design
    if design is None or not path:
        return Card(question, None, None)
    page = path.partition(".")[0]
    ground = next((one for one in grounds_of(design, by_page=True) if one.pages[0].path == page), None)
    return Card(question, ground, found)


@router.get("/surveys/{survey}/questions")
def show_questions(request: Request, store: Record, visitor: Caller, survey: str, page: PageNumber = 1) -> Response:
    """The open questions of a survey, or with `standing` for a survey those about standing facts."""
    return _list(request, store, visitor, survey, None, page)


@router.get("/surveys/{survey}/structures/{structure}/questions")
def show_structure_questions(
    request: Request, store: Record, visitor: Caller, survey: str, structure: str, page: PageNumber = 1
) -> Response:
    """The open questions of one structure in a survey."""
    return _list(request, store, visitor, survey, structure, page)


def _list(request: Request, store: RecordStore, visitor: Visitor, name: str, structure: str | None, page: int) -> Response:
    survey = survey_named(name)
    keys = list_questions(store, survey, structure)
    part = Part(page, QUESTIONS_AT_ONCE, len(keys))
    cards = _cards(store, read_questions(store, keys[part.first : part.last]))
    context = {"cards": cards, "survey": survey, "structure": structure, "part": part, "roster": read_roster(store)}
    return render(request, "questions.html", visitor, context)


def _asked(store: Record, survey: str, sort: str, name: str, fact: str) -> Question:
    return read_question(store, survey_named(survey), f"{sort}:{name}", fact)


@router.get("/surveys/{survey}/questions/{sort}/{name:path}/{fact}")
def show_question(request: Request, store: Record, visitor: Caller, question: Annotated[Question, Depends(_asked)]) -> Response:
    """One question, open or settled: the permanent address of what was ruled."""
    if question.open and visitor.may("supervisor"):
        claim(store, visitor.session, visitor.person, question.key)
    return _one(request, store, visitor, _cards(store, [question])[0])


def _one(request: Request, store: RecordStore, visitor: Visitor, card: Card, status: int = 200) -> Response:
    survey = card.question.key.survey
    left = count_questions(store, survey)
    context = {"card": card, "survey": survey, "roster": read_roster(store), "left": left}
    return render(request, "question.html", visitor, context, status)


@router.post("/surveys/{survey}/questions/{sort}/{name:path}/{fact}")
def answer_question(
    request: Request,
    store: Record,
    visitor: Checked,
    question: Annotated[Question, Depends(_asked)],
    take: Annotated[str, Form()] = "",
    other: Annotated[tuple[str, ...], Form()] = (),
    shown: Annotated[tuple[str, ...], Form()] = (),
    reason: Annotated[str, Form(max_length=4000)] = "",
) -> Response:
    """Settle a question: `take` is the id of the entry whose value is taken, or "other" for a new value in `other`.

    `shown` are the ids of the statements that the page showed.
    """
    try:
        value = value_from_form(question.key.fact, other) if take == OTHER else _value_of(question, take)
        after = give_ruling(store, visitor.person, question, value, shown, reason.strip() or None)
    except SchemaError as error:
        card = replace(_cards(store, [question])[0], wrong=in_words(error))
        return _part(request, store, visitor, card) if _by_htmx(request) else _one(request, store, visitor, card, 422)
    let_go(store, visitor.session, question.key)
    return _answered(request, store, visitor, after)


def _value_of(question: Question, entry_id: str) -> Any:
    for one in question.statements:
        if one.entry.id == entry_id:
            return one.value
    raise SchemaError("Nothing was chosen: take one of the values, or give a new one.")


@router.get("/rulings/{ruling}")
def show_ruling(store: Record, _: Caller, ruling: str) -> Response:
    """The permanent address of a ruling: it leads to the question that it answers."""
    key = find_ruling(store, ruling)
    return RedirectResponse(to_question(key.survey, key.subject, key.fact), 303)


@router.post("/rulings/{ruling}/taken-back")
def take_back(request: Request, store: Record, visitor: Checked, ruling: str) -> Response:
    """Withdraw a ruling of one's own."""
    return _answered(request, store, visitor, take_ruling_back(store, visitor.person, ruling))


def _by_htmx(request: Request) -> bool:
    return request.headers.get("hx-request") == "true"


def _answered(request: Request, store: RecordStore, visitor: Visitor, question: Question) -> Response:
    """The question as it is now: in place of its card, or on its own page for a browser without scripts."""
    if _by_htmx(request):
        return _part(request, store, visitor, replace(_cards(store, [question])[0], answered=True))
    key = question.key
    return RedirectResponse(to_question(key.survey, key.subject, key.fact), 303)


def _part(request: Request, store: RecordStore, visitor: Visitor, card: Card) -> Response:
    left = count_questions(store, card.question.key.survey)
    return render(request, "answered.html", visitor, {"card": card, "roster": read_roster(store), "left": left})
