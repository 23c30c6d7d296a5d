"""Bulk rules: choose one, see what it would touch, apply it, take it back as one."""

from typing import Annotated

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import RedirectResponse, Response

from server.pages.addresses import survey_named, to_correction
from server.pages.door import Caller, Checked
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.telling import in_words
from server.review.bulk import RULES, Preview, apply_rule, is_of_rule, preview_on, preview_rule, read_batch, take_batch_back
from server.review.questions import read_open_questions
from server.review.roster import read_roster
from server.store.record import RecordStore
from shared_schema.errors import RecordError

__all__ = ["router"]

router = APIRouter()

Text = Annotated[str, Form(max_length=200)]


@router.get("/surveys/{survey}/rules")
def choose_rule(
    request: Request,
    store: Record,
    visitor: Caller,
    survey: str,
    rule: Annotated[str, Query(max_length=40)] = "",
    person: Annotated[str, Query(max_length=48)] = "",
) -> Response:
    """The rules, and with `rule` what it would settle now."""
    return _show(request, store, visitor, survey_named(survey), rule, person)


def _show(request: Request, store: RecordStore, visitor: Caller, survey: str, rule: str, person: str, wrong: str = "") -> Response:
    questions = read_open_questions(store, survey)
    people = sorted({one.entry.by for question in questions for one in question.disputed})
    needs = rule in RULES and RULES[rule].needs_person
    preview = preview_on(rule, questions, person) if rule and (person or not needs) else None
    context = {
        "survey": survey,
        "rules": RULES,
        "rule": rule,
        "person": person,
        "people": people,
        "preview": preview,
        "open": len(questions),
        "wrong": wrong,
        "roster": read_roster(store),
    }
    return render(request, "rules.html", visitor, context, 409 if wrong else 200)


@router.post("/surveys/{survey}/rules")
def apply_chosen(
    request: Request, store: Record, visitor: Checked, survey: str, rule: Text, seal: Text, person: Text = ""
) -> Response:
    """Apply a rule to exactly what `seal` stands for; otherwise show what it would do now."""
    name = survey_named(survey)
    seen = preview_rule(store, name, rule, person)
    try:
        batch = apply_rule(store, visitor.person, name, Preview(seen.rule, person, seen.touched, seen.left, seal))
    except RecordError as error:
        return _show(request, store, visitor, name, rule, person, in_words(error))
    return RedirectResponse(f"/rulings/batches/{batch}", 303)


@router.get("/rulings/batches/{batch}")
def show_batch(request: Request, store: Record, visitor: Caller, batch: str) -> Response:
    """The permanent address of what one rule settled; of a correction, which is a batch too, the way to its page."""
    found = read_batch(store, batch)
    if not is_of_rule(found.name, found.reason):
        return RedirectResponse(to_correction(batch), 303)
    return render(request, "batch.html", visitor, {"batch": found, "roster": read_roster(store)})


@router.post("/rulings/batches/{batch}/taken-back")
def take_back_batch(store: Record, visitor: Checked, batch: str) -> Response:
    """Withdraw all its rulings."""
    take_batch_back(store, visitor.person, batch)
    return RedirectResponse(f"/rulings/batches/{batch}", 303)
