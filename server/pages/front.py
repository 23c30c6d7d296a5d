"""The front door: signing in and out, and links that work once."""

from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from server.access.accounts import list_accounts
from server.access.links import Link, read_link, set_password_by_link, sign_in_by_link
from server.access.passwords import SHORTEST
from server.access.sessions import sign_out
from server.access.sign_in import sign_in
from server.pages.door import Checked, FromHere, NotSignedIn, address_of, browser_of, let_in, let_out, signed_in
from server.pages.languages import Language
from server.pages.record import Record
from server.pages.rendering import render
from server.pages.speaking import CHOICE
from server.pages.telling import in_words
from server.pages.wording import gettext
from server.store.record import RecordStore
from shared_schema.errors import NotAllowed, SchemaError, TooManyTries

__all__ = ["router", "show_sign_in", "twice"]

router = APIRouter()


def show_sign_in(
    request: Request, detail: str = "", onward: str = "/", who: str = "", told: str = "", status: int = 200
) -> Response:
    """The page to sign in on. `onward` is where to go then; `told` is good news, `detail` what went wrong."""
    store: RecordStore = request.app.state.store
    begun = any(one.active and one.role == "supervisor" for one in list_accounts(store))
    context = {
        "detail": detail,
        "onward": _within(onward),
        "who": who,
        "told": told,
        "begun": begun,
        "choices": _choices(request, "/door", onward),
    }
    return render(request, "door.html", None, context, status)


@router.get("/door")
def show_door(request: Request, who: str = "", told: str = "", onward: str = "/") -> Response:
    """Where to sign in; who is in already goes on to the surveys."""
    try:
        signed_in(request)
    except NotSignedIn:
        words = {"set": gettext("Your password is set. Sign in with it."), "out": gettext("You are signed out.")}
        return show_sign_in(request, onward=onward, who=who[:80], told=words.get(told, ""))
    return RedirectResponse(_within(onward), 303)


@router.post("/door", dependencies=[FromHere])
def open_door(
    request: Request,
    store: Record,
    who: Annotated[str, Form(max_length=200)] = "",
    password: Annotated[str, Form(max_length=1000)] = "",
    onward: Annotated[str, Form(max_length=2000)] = "/",
) -> Response:
    """Sign in with a person id or name, and a password."""
    try:
        key = sign_in(store, who, password, browser_of(request), address_of(request))
    except NotAllowed as error:
        status = 429 if isinstance(error, TooManyTries) else 403
        return show_sign_in(request, in_words(error), onward, who, status=status)
    answer = RedirectResponse(_within(onward), 303)
    let_in(request, answer, key)
    return answer


@router.get("/door/{link}")
def follow_link(request: Request, store: Record, link: str) -> Response:
    """What a link is good for: a password can be set, or it signs in.

    The cookie is set on a page and not on a redirect: a strict cookie does not go along with a redirect that began on
    another site, as a link in a message does.
    """
    try:
        found = read_link(store, link)
        if found.purpose == "password":
            return _ask_password(request, found)
        key = sign_in_by_link(store, link, browser_of(request), address_of(request))
    except NotAllowed:
        try:
            signed_in(request)
        except NotSignedIn:
            pass
        else:
            return RedirectResponse("/", 303)  # the link brought them in before
        raise
    answer = render(request, "welcome.html", None, {"onward": "/", "title": gettext("Welcome, %(who)s") % {"who": found.name}})
    let_in(request, answer, key)
    return answer


@router.post("/door/{link}", dependencies=[FromHere])
def use_link(
    request: Request,
    store: Record,
    link: str,
    password: Annotated[str, Form(max_length=1000)] = "",
    again: Annotated[str, Form(max_length=1000)] = "",
) -> Response:
    """Set a password with a link; it is used up by that."""
    found = read_link(store, link)
    try:
        set_password_by_link(store, link, twice(password, again), address_of(request))
    except SchemaError as error:
        return _ask_password(request, found, in_words(error), 422)
    answer = RedirectResponse(f"/door?{urlencode({'told': 'set', 'who': found.person})}", 303)
    let_out(answer)
    return answer


def twice(password: str, again: str) -> str:
    """What was typed both times. Raises SchemaError where the two differ."""
    if password != again:
        raise SchemaError("The two are not the same: type the password again, both times.")
    return password


def _ask_password(request: Request, link: Link, wrong: str = "", status: int = 200) -> Response:
    context = {"link": link, "wrong": wrong, "shortest": SHORTEST, "choices": _choices(request, request.url.path)}
    return render(request, "set_password.html", None, context, status)


@router.post("/leave")
def leave(store: Record, visitor: Checked) -> Response:
    """End the session that this browser is in."""
    sign_out(store, visitor.held, visitor.address)
    answer = RedirectResponse("/door?told=out", 303)
    let_out(answer)
    return answer


def _choices(request: Request, path: str, onward: str = "/") -> list[tuple[Language, str]]:
    """Every language, and the address of this page in it."""
    after = {} if _within(onward) == "/" else {"onward": onward}
    return [(one, f"{path}?{urlencode({CHOICE: code, **after})}") for code, one in request.app.state.languages.items()]


def _within(onward: str) -> str:
    """Where to go on these pages; an address elsewhere is not followed."""
    inside = onward.startswith("/") and not onward.startswith(("//", "/\\", "/door")) and onward.isprintable()
    return onward if inside else "/"
