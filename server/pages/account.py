"""One's own account: the password, and the browsers that one is signed in with."""

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from server.access.accounts import choose_language, read_account
from server.access.passwords import SHORTEST
from server.access.sessions import end_others, end_session, list_sessions
from server.access.sign_in import change_password
from server.pages.addresses import to_person
from server.pages.door import Caller, Checked, Visitor, let_out
from server.pages.front import twice
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.telling import in_words
from server.store.record import RecordStore
from shared_schema.errors import SchemaError, TooManyTries

__all__ = ["router"]

router = APIRouter()


@router.get("/account")
def show_account(request: Request, store: Record, visitor: Caller, told: str = "") -> Response:
    """One's own account. `told=password`: the password was just changed."""
    return _show(request, store, visitor, told=told == "password")


def _show(
    request: Request, store: RecordStore, visitor: Visitor, wrong: str = "", told: bool = False, status: int = 200
) -> Response:
    context = {
        "account": read_account(store, visitor.person),
        "sessions": list_sessions(store, visitor.person),
        "now": store.clock(),
        "shortest": SHORTEST,
        "wrong": wrong,
        "told": told,
        "languages": request.app.state.languages,
    }
    return render(request, "account.html", visitor, context, status)


@router.post("/account/password")
def send_password(
    request: Request,
    store: Record,
    visitor: Checked,
    password: Annotated[str, Form(max_length=1000)] = "",
    again: Annotated[str, Form(max_length=1000)] = "",
    old: Annotated[str, Form(max_length=1000)] = "",
) -> Response:
    """Change one's own password."""
    try:
        change_password(store, visitor.held, old, twice(password, again), visitor.address)
    except (SchemaError, TooManyTries) as error:
        return _show(request, store, visitor, in_words(error), status=429 if isinstance(error, TooManyTries) else 422)
    return RedirectResponse("/account?told=password", 303)


@router.post("/account/language")
def send_language(
    request: Request, store: Record, visitor: Checked, language: Annotated[str, Form(max_length=20)] = ""
) -> Response:
    """Choose in which language one reads the pages; "" is what the browser asks for."""
    if language and language not in request.app.state.languages:
        raise SchemaError("%(language)r is no language of these pages: choose one of the list", language=language)
    choose_language(store, visitor.person, language)
    return RedirectResponse("/account#language", 303)


@router.post("/sessions/others/ended")
def end_the_others(store: Record, visitor: Checked) -> Response:
    """End all of one's sessions but this one."""
    end_others(store, visitor.held, visitor.address)
    return RedirectResponse("/account", 303)


@router.post("/sessions/{session}/ended")
def end_one(store: Record, visitor: Checked, session: str) -> Response:
    """End a session: one of one's own, or for a supervisor anybody's."""
    person = end_session(store, session, visitor.actor, anyones=visitor.may("supervisor"))
    if session == visitor.session:
        answer = RedirectResponse("/door?told=out", 303)
        let_out(answer)
        return answer
    return RedirectResponse("/account" if person == visitor.person else to_person(person), 303)
