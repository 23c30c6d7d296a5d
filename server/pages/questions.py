"""Questions side by side, and the answers to them."""

from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Annotated, Any, Final, Literal, TypeAlias

from fastapi import APIRouter, Depends, Form, Request
from fastapi.responses import RedirectResponse, Response

from server.pages.addresses import survey_named, to_question
from server.pages.cards import Card, cards_of
from server.pages.door import Caller, Checked, Visitor
from server.pages.paging import Part
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.surveys import PageNumber
from server.pages.telling import in_words
from server.pages.values import value_from_form
from server.review.answers import office_head, read_last_word
from server.review.claims import claim, let_go
from server.review.questions import (
    Question,
    count_questions,
    list_questions,
    read_question,
    read_questions,
    reading_order,
)
from server.review.roster import Roster, read_roster
from server.review.rulings import find_ruling, give_ruling, keep_open, take_ruling_back
from server.store.engine import reading
from server.store.record import RecordStore
from shared_schema.errors import SchemaError, StorageError

__all__ = ["router"]

router = APIRouter()

QUESTIONS_AT_ONCE: Final = 10
OTHER: Final = "other"
KEEP: Final = "open"
Show: TypeAlias = Literal["all", "new", "kept"]


@router.get("/surveys/{survey}/questions")
def show_questions(
    request: Request, store: Record, visitor: Caller, survey: str, page: PageNumber = 1, show: Show = "all"
) -> Response:
    """The open questions of a survey, or with `standing` for a survey those about standing facts."""
    return _list(request, store, visitor, Listed(survey_named(survey), None, show), page)


@router.get("/surveys/{survey}/structures/{structure}/questions")
def show_structure_questions(
    request: Request, store: Record, visitor: Caller, survey: str, structure: str, page: PageNumber = 1, show: Show = "all"
) -> Response:
    """The open questions of one structure in a survey."""
    return _list(request, store, visitor, Listed(survey_named(survey), structure, show), page)


@dataclass(frozen=True, slots=True)
class Listed:
    """Which questions are listed: of a survey or of one structure in it; all, those to look at, or those kept open."""

    survey: str
    structure: str | None
    show: Show


def _list(request: Request, store: RecordStore, visitor: Visitor, listed: Listed, page: int) -> Response:
    every = list_questions(store, listed.survey, listed.structure)
    keys = [key for key in every if listed.show == "all" or key.kept == (listed.show == "kept")]
    part = Part(page, QUESTIONS_AT_ONCE, len(keys))
    roster = read_roster(store)
    cards = cards_of(store, visitor, read_questions(store, keys[part.first : part.last]), roster)
    kept = sum(key.kept for key in every)
    context = {
        "cards": cards,
        "survey": listed.survey,
        "structure": listed.structure,
        "show": listed.show,
        "kept": kept,
        "left": len(every),
        "part": part,
    }
    return render(request, "questions.html", visitor, {**context, **_beside(store, visitor, listed.survey, roster)})


def _beside(store: RecordStore, visitor: Visitor, survey: str, roster: Roster | None = None) -> dict[str, Any]:
    """What every page with questions needs: who is who, the reader's last word, and what the office had written."""
    with reading(store.engine) as connection:
        _, office = office_head(connection, store)
    last = read_last_word(store, visitor.person, survey) if visitor.may("supervisor") else None
    return {"roster": roster or read_roster(store), "last": last, "office": office}


def _asked(store: Record, survey: str, sort: str, name: str, fact: str) -> Question:
    return read_question(store, survey_named(survey), f"{sort}:{name}", fact)


@router.get("/surveys/{survey}/questions/{sort}/{name:path}/{fact}")
def show_question(request: Request, store: Record, visitor: Caller, question: Annotated[Question, Depends(_asked)]) -> Response:
    """One question, open or settled: the permanent address of what was ruled."""
    if question.open and visitor.may("supervisor"):
        with suppress(StorageError):  # whoever only reads need not wait for a full disk
            claim(store, visitor.session, visitor.person, question.key)
    card = cards_of(store, visitor, [question])[0]
    if request.headers.get("hx-target") == card.id:
        return _part(request, store, visitor, card)
    return _one(request, store, visitor, card)


def _one(request: Request, store: RecordStore, visitor: Visitor, card: Card, status: int = 200) -> Response:
    key = card.question.key
    keys = list_questions(store, key.survey)
    ahead = [one for one in keys if (one.subject, one.fact) != (key.subject, key.fact) and not one.kept]
    after = [one for one in ahead if reading_order(one) > reading_order(key)]
    context = {"card": card, "survey": key.survey, "left": len(keys), "next": next(iter([*after, *ahead]), None)}
    return render(request, "question.html", visitor, {**context, **_beside(store, visitor, key.survey)}, status)


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
    """Settle a question or keep it open.

    `take` is the id of the entry whose value is taken, "other" for a new value in `other`, or "open" to leave it open for
    a reason. `shown` are the ids of the statements that the page showed.
    """
    try:
        if take == KEEP:
            after = keep_open(store, visitor.person, question, shown, reason)
        else:
            value = value_from_form(question.key.fact, other) if take == OTHER else _value_of(question, take)
            after = give_ruling(store, visitor.person, question, value, shown, reason.strip() or None)
    except SchemaError as error:
        chosen = {"take": take, "reason": reason, "other": next(iter(other), "")}
        refused = replace(cards_of(store, visitor, [question])[0], wrong=in_words(error), chosen=chosen)
        return _part(request, store, visitor, refused) if _by_htmx(request) else _one(request, store, visitor, refused, 422)
    let_go(store, visitor.session, question.key)
    met = next((one for one in after.rulings_beyond(shown) if one.entry.by != visitor.person), None)
    if met is None or (take == KEEP and after.open):
        return _answered(request, store, visitor, after)
    taken = take != KEEP and any(one.entry.by == visitor.person for one in after.rulings_beyond(shown))
    chosen = {} if taken else {"take": take, "reason": reason, "other": next(iter(other), "")}
    card = replace(cards_of(store, visitor, [after])[0], answered=True, met=met, taken=taken, chosen=chosen)
    return _part(request, store, visitor, card) if _by_htmx(request) else _one(request, store, visitor, card, 409)


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
    """Withdraw a ruling of one's own, or a word that leaves a question open."""
    return _answered(request, store, visitor, take_ruling_back(store, visitor.person, ruling))


def _by_htmx(request: Request) -> bool:
    return request.headers.get("hx-request") == "true"


def _answered(request: Request, store: RecordStore, visitor: Visitor, question: Question) -> Response:
    """The question as it is now: in place of its card, or on its own page for a browser without scripts."""
    if _by_htmx(request):
        return _part(request, store, visitor, replace(cards_of(store, visitor, [question])[0], answered=True))
    key = question.key
    return RedirectResponse(to_question(key.survey, key.subject, key.fact), 303)


def _part(request: Request, store: RecordStore, visitor: Visitor, card: Card) -> Response:
    survey = card.question.key.survey
    context = {"card": card, "survey": survey, "left": count_questions(store, survey)}
    return render(request, "answered.html", visitor, {**context, **_beside(store, visitor, survey)})
