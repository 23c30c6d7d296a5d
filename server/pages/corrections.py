"""Corrections by the office: any fact of a fragment in any survey, with a reason, and the way back."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Form, Query, Request
from fastapi.responses import RedirectResponse, Response

from server.pages.addresses import survey_named, to_correction
from server.pages.door import Caller, Checked, Visitor
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.telling import in_words
from server.pages.values import value_from_form
from server.pages.wording import gettext
from server.review.amending import AMENDABLE, Amendable, draft_amendment, read_amendable, surveys_to_amend
from server.review.batches import batch_sort
from server.review.bulk import is_of_rule
from server.review.corrections import Correction, read_correction, take_correction_back
from server.review.drafts import Draft, write_draft
from server.review.entries import entries_named
from server.review.genet_names import list_genet_names
from server.review.histories import read_history
from server.review.roster import read_roster
from server.store.engine import reading
from server.store.record import RecordStore
from shared_schema.envelope import BaseEntry
from shared_schema.errors import CrosstreeError, RecordError, SchemaError

__all__ = ["router"]

router = APIRouter()

Text = Annotated[str, Form(max_length=4000)]


@dataclass(frozen=True, slots=True)
class Sent:
    """What the form of a preview sends: the fact of a survey, the value, the seal of what was shown, a reason."""

    survey: str
    fact: str
    value: tuple[str, ...]
    seal: str
    reason: str


def _sent(
    survey: Text = "", fact: Text = "", value: Annotated[tuple[str, ...], Form()] = (), seal: Text = "", reason: Text = ""
) -> Sent:
    return Sent(survey, fact, value, seal, reason)


@dataclass(frozen=True, slots=True)
class _View:
    """How the form is shown: with what was given, why that cannot be, or what it would write."""

    given: Sequence[str] = ()
    draft: Draft | None = None
    wrong: str = ""
    reason: str = ""
    status: int = 200


@router.get("/fragments/{name}/correct")
def ask_correction(  # all of them from the address
    request: Request,
    store: Record,
    visitor: Caller,
    name: str,
    survey: Annotated[str, Query(max_length=40)] = "",
    fact: Annotated[str, Query(max_length=40)] = "",
    value: Annotated[tuple[str, ...], Query()] = (),
    look: Annotated[str, Query(max_length=4)] = "",
) -> Response:
    """What to correct; with a fact and `look` what the office would write of the value."""
    if not fact:
        context = {"history": read_history(store, name), "facts": AMENDABLE, "surveys": surveys_to_amend(store), "survey": survey}
        return render(request, "choose_fact.html", visitor, context)
    what = read_amendable(store, name, survey_named(survey), fact)
    if not look:
        return _show(request, store, visitor, what, _View())
    try:
        drafted = draft_amendment(store, what, value_from_form(fact, value))
    except SchemaError as error:
        return _show(request, store, visitor, what, _View(value, wrong=in_words(error), status=422))
    return _show(request, store, visitor, what, _View(value, drafted))


@router.post("/fragments/{name}/correct")
def write_correction(
    request: Request, store: Record, visitor: Checked, name: str, sent: Annotated[Sent, Depends(_sent)]
) -> Response:
    """Write what the page showed, with a reason; where something came meanwhile, show what it would be now."""

    def what() -> Amendable:
        return read_amendable(store, name, survey_named(sent.survey), sent.fact)

    def anew() -> Draft:
        return draft_amendment(store, what(), value_from_form(sent.fact, sent.value))

    try:
        correction = write_draft(store, visitor.person, anew, sent.seal, sent.reason)
    except (SchemaError, RecordError) as error:
        return _show(request, store, visitor, what(), _refused(anew, sent, error))
    return RedirectResponse(to_correction(correction), 303)


def _refused(anew: Callable[[], Draft], sent: Sent, error: CrosstreeError) -> _View:
    try:
        drafted = anew()
    except SchemaError:
        drafted = None
    return _View(sent.value, drafted, in_words(error), sent.reason, 422 if isinstance(error, SchemaError) else 409)


def _show(request: Request, store: RecordStore, visitor: Visitor, what: Amendable, view: _View) -> Response:
    context = {
        "what": what,
        "view": view,
        "genets": list_genet_names(store) if what.fact == "genet" else (),
        "roster": read_roster(store),
    }
    return render(request, "correct.html", visitor, context, view.status)


@router.get("/corrections/{correction}")
def show_correction(request: Request, store: Record, visitor: Caller, correction: str) -> Response:
    """The permanent address of what the office wrote at once; of what one rule settled, the way to its page."""
    found = read_correction(store, correction)
    if is_of_rule(found.name, found.reason):
        return RedirectResponse(f"/rulings/batches/{found.name}", 303)
    title = gettext("Repair") if batch_sort(found.name) == "repair" else gettext("Correction")
    context = {"correction": found, "title": title, "replaced": _replaced(store, found), "roster": read_roster(store)}
    return render(request, "correction.html", visitor, context)


def _replaced(store: RecordStore, correction: Correction) -> Mapping[str, Sequence[tuple[BaseEntry, Any]]]:
    """Entry -> what it replaced of its fact, with the value that was said."""
    names = {name for entry in correction.entries for name in entry.replaces}
    with reading(store.engine) as connection:
        known = entries_named(connection, store.nursery, names)
    found: dict[str, list[tuple[BaseEntry, Any]]] = {}
    for entry in correction.entries:
        ((fact, _),) = entry.facts()
        said = [(known[name], dict(known[name].facts())) for name in entry.replaces if name in known]
        found[entry.id] = [(other, facts[fact]) for other, facts in said if fact in facts]
    return found


@router.post("/corrections/{correction}/taken-back")
def take_back_correction(store: Record, visitor: Checked, correction: str) -> Response:
    """Withdraw all that was written as one."""
    take_correction_back(store, visitor.person, correction)
    return RedirectResponse(to_correction(correction), 303)
