"""Who may see the office pages, and do what on them: whoever signed in, as far as their role goes.

A cookie that scripts cannot read, and that no other site can make a browser send, holds the id of a session; the table
in server.access.roles says which role each route needs. What a form changes needs two more things: a request from these
pages themselves, as the browser says, and a token that only a page shown to this session contains.
"""

import hashlib
import hmac
import secrets
from dataclasses import dataclass
from typing import Annotated, Final
from urllib.parse import urlsplit

from fastapi import Depends, Form, Request
from starlette.responses import Response

from server.access.roles import Role, Who, may, needed
from server.access.sessions import SESSION_LASTS, Held, session_with
from server.access.trail import Actor
from server.pages.wording import mark, prefer
from server.store.record import RecordStore
from shared_schema.errors import NotAllowed

__all__ = [
    "BY_ITSELF",
    "COOKIE",
    "Caller",
    "Checked",
    "FromHere",
    "NotSignedIn",
    "Onlooker",
    "Visitor",
    "address_of",
    "browser_of",
    "let_in",
    "let_out",
    "signed_in",
    "token_for",
]

COOKIE: Final = "crosstree_office"
BY_ITSELF: Final = "crosstree-by-itself"
"""The header of a request that a page sends without anybody clicking: it keeps nobody signed in."""

_TOO_LITTLE: Final = {
    "crew": mark("Your account shows the pages and changes nothing: writing takes a crew account. A supervisor can give you one."),
    "supervisor": mark("This takes a supervisor's account: ask a supervisor to do it, or to make you one."),
}


class NotSignedIn(NotAllowed):
    """Nobody is signed in with this browser, or not any more."""


@dataclass(frozen=True, slots=True)
class Visitor:
    """Somebody who signed in. `person` is the id that a ruling of theirs is by; `token` goes into every form."""

    person: str
    name: str
    token: str
    expires_ms: int
    role: Role = "supervisor"
    session: str = ""
    address: str = ""

    def may(self, who: Who) -> bool:
        """Whether they have at least that role: what they may not do is not offered to them."""
        return may(self.role, who)

    @property
    def actor(self) -> Actor:
        """Who does what they do, for the trail."""
        return Actor(self.person, self.address)

    @property
    def held(self) -> Held:
        """Their session."""
        return Held(self.session, self.person, self.name, self.role, self.expires_ms)


def signed_in(request: Request, *, clicked: bool = True) -> Visitor:
    """Who is signed in with this browser; unless `clicked`, asking keeps nobody signed in. Raises NotSignedIn."""
    key = request.cookies.get(COOKIE)
    if not key:
        raise NotSignedIn
    store: RecordStore = request.app.state.store
    try:
        held = session_with(store, key, clicked=clicked)
    except NotAllowed as error:
        raise NotSignedIn(error.message, **error.values) from error
    if preferred := request.app.state.languages.get(held.language):
        prefer(preferred)
    return Visitor(held.person, held.name, token_for(key), held.expires_ms, held.role, held.session, address_of(request))


def token_for(key: str) -> str:
    """A token for the forms that are shown to a session, by what its cookie holds; another one each time.

    Pages go out compressed. Were the same secret in each, their length could betray it to whoever makes a browser ask for
    many, with guesses in the address: so it stands there under a mask that is drawn anew, and beside it.
    """
    secret = _secret(key)
    mask = secrets.token_bytes(len(secret))
    return (mask + bytes(one ^ other for one, other in zip(mask, secret, strict=True))).hex()


def _secret(key: str) -> bytes:
    return hmac.new(key.encode(), b"crosstree form", hashlib.sha256).digest()


def _is_of(token: str, key: str) -> bool:
    """Whether a token was shown to a session."""
    secret = _secret(key)
    try:
        both = bytes.fromhex(token)
    except ValueError:
        return False
    mask, masked = both[: len(secret)], both[len(secret) :]
    if len(masked) != len(secret):
        return False
    return hmac.compare_digest(bytes(one ^ other for one, other in zip(mask, masked, strict=True)), secret)


def _caller(request: Request) -> Visitor:
    return _let_through(request, signed_in(request, clicked=BY_ITSELF not in request.headers))


def _onlooker(request: Request) -> Visitor:
    return _let_through(request, signed_in(request, clicked=False))


def _let_through(request: Request, visitor: Visitor) -> Visitor:
    request.state.visitor = visitor
    who = needed(request.method, request.scope["route"].path)
    if not visitor.may(who):
        raise NotAllowed(_TOO_LITTLE.get(who, _TOO_LITTLE["supervisor"]))
    return visitor


Caller = Annotated[Visitor, Depends(_caller)]
"""Who calls a page: somebody who signed in and whose role the table of routes lets in here."""

Onlooker = Annotated[Visitor, Depends(_onlooker)]
"""The same where a page asks by itself, without anybody clicking."""


def _from_here(request: Request) -> None:
    if not _from_these_pages(request):
        raise NotAllowed("This form did not come from these pages: open the page here and send it again.")


FromHere = Depends(_from_here)
"""For a form that is sent before anybody signed in."""


def _checked(request: Request, caller: Caller, token: Annotated[str, Form()] = "") -> Visitor:
    _from_here(request)
    if not _is_of(token, request.cookies.get(COOKIE, "")):
        raise NotAllowed("This form is from before you signed in here: open the page again and send it once more.")
    return caller


Checked = Annotated[Visitor, Depends(_checked)]
"""Who sends a form, after it was checked that the form is one of ours."""


def let_in(request: Request, answer: Response, key: str) -> None:
    """Give the browser the cookie of a session."""
    lasts = int(SESSION_LASTS.total_seconds())
    secure = request.url.scheme == "https"
    answer.set_cookie(COOKIE, key, max_age=lasts, httponly=True, samesite="strict", secure=secure, path="/")


def let_out(answer: Response) -> None:
    """Take the cookie back, and photos out of the browser's cache: whoever sits there next must not find them."""
    answer.delete_cookie(COOKIE, path="/", httponly=True, samesite="strict")
    answer.headers["Clear-Site-Data"] = '"cache"'


def address_of(request: Request) -> str:
    """The network address that a request comes from; behind a proxy that the server trusts, what the proxy says."""
    return request.client.host if request.client else ""


def browser_of(request: Request) -> str:
    """What the browser says it is."""
    return "".join(letter for letter in request.headers.get("user-agent", "") if letter.isprintable())


def _from_these_pages(request: Request) -> bool:
    """Whether the browser says so. One that says nothing is refused: all that are in use say one or the other."""
    site, origin = request.headers.get("sec-fetch-site"), request.headers.get("origin")
    if site is not None and site != "same-origin":
        return False
    if origin is not None:
        # Only the host is compared: behind a proxy the scheme seen here may be another.
        return urlsplit(origin).netloc == request.headers.get("host")
    return site is not None
