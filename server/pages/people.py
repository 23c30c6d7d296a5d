"""People: who may enter as what, who is in the record without an account, and links for those who need one."""

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from server.access.accounts import (
    change_role,
    close_account,
    list_accounts,
    make_account,
    open_account_again,
    read_account,
)
from server.access.links import make_link
from server.access.sessions import list_sessions
from server.pages.addresses import to_person
from server.pages.door import Caller, Checked, Visitor
from server.pages.record import Record
from server.pages.rendering import public_url, render
from server.pages.telling import in_words
from server.registry.people import list_person
from server.review.roster import read_roster
from server.store.record import RecordStore
from shared_schema.errors import NotAllowed, NothingSuch, RecordError, SchemaError

__all__ = ["router"]

router = APIRouter()


@router.get("/people")
def show_people(request: Request, store: Record, visitor: Caller) -> Response:
    """All accounts, and the people of the record."""
    return _list(request, store, visitor)


def _list(
    request: Request,
    store: RecordStore,
    visitor: Visitor,
    wrong: str = "",
    asked: tuple[str, str, str] = ("", "", "crew"),
    status: int = 200,
) -> Response:
    accounts = list_accounts(store)
    known = {one.person for one in accounts}
    listed = sorted(read_roster(store).people.items(), key=lambda pair: pair[1].casefold())
    context = {
        "accounts": accounts,
        "others": [(person, name) for person, name in listed if person not in known],
        "wrong": wrong,
        "asked": asked,
    }
    return render(request, "people.html", visitor, context, status)


@router.post("/people")
def invite(
    request: Request,
    store: Record,
    visitor: Checked,
    person: Annotated[str, Form(max_length=200)] = "",
    name: Annotated[str, Form(max_length=400)] = "",
    role: Annotated[str, Form()] = "",
) -> Response:
    """Make an account, list its owner in the record, and show a link to set a password."""
    try:
        made = make_account(store, person, name, role, visitor.actor)
    except (SchemaError, RecordError) as error:
        return _list(request, store, visitor, in_words(error), (person, name, role), 422)
    if made.role != "reader":  # a reader says nothing that an entry could be by
        list_person(store, made.person, made.name, made.role, visitor.person)
    return _one(request, store, visitor, made.person, link=_link(request, store, visitor, made.person))


@router.get("/people/{person}")
def show_person(request: Request, store: Record, visitor: Caller, person: str) -> Response:
    """Somebody's account."""
    return _one(request, store, visitor, person)


def _one(
    request: Request, store: RecordStore, visitor: Visitor, person: str, *, link: str = "", wrong: str = "", status: int = 200
) -> Response:
    context = {
        "account": read_account(store, person),
        "sessions": list_sessions(store, person),
        "now": store.clock(),
        "link": link,
        "wrong": wrong,
    }
    return render(request, "person.html", visitor, context, status)


@router.post("/people/{person}/link")
def give_link(request: Request, store: Record, visitor: Checked, person: str) -> Response:
    """Show a link to set a password, this once."""
    try:
        return _one(request, store, visitor, person, link=_link(request, store, visitor, person))
    except NotAllowed as error:
        return _one(request, store, visitor, person, wrong=in_words(error), status=409)


@router.post("/people/{person}/role")
def send_role(request: Request, store: Record, visitor: Checked, person: str, role: Annotated[str, Form()] = "") -> Response:
    """Change what somebody may do."""
    try:
        changed = change_role(store, person, role, visitor.actor)
    except NothingSuch:
        raise
    except (NotAllowed, SchemaError) as error:
        return _one(request, store, visitor, person, wrong=in_words(error), status=409)
    if changed.role != "reader":
        list_person(store, changed.person, changed.name, changed.role, visitor.person)
    return RedirectResponse(to_person(person), 303)


@router.post("/people/{person}/active")
def send_active(request: Request, store: Record, visitor: Checked, person: str, active: Annotated[bool, Form()]) -> Response:
    """Close an account, or open it again."""
    try:
        (open_account_again if active else close_account)(store, person, visitor.actor)
    except NotAllowed as error:
        return _one(request, store, visitor, person, wrong=in_words(error), status=409)
    return RedirectResponse(to_person(person), 303)


def _link(request: Request, store: RecordStore, visitor: Visitor, person: str) -> str:
    return f"{public_url(request)}/door/{make_link(store, person, 'password', visitor.actor)}"
