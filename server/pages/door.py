"""Who may see the office pages: whoever holds a key, which came as a link. Accounts and roles are not here yet.

A key is 256 random bits, kept as SHA-256 only. The browser keeps it in a cookie that scripts cannot read and that no
other site can make it send. What a form changes needs two more things: a request from these pages themselves, as the
browser says, and a token that only a page shown to this key contains.
"""

import hashlib
import hmac
import secrets
from dataclasses import dataclass
from datetime import timedelta
from typing import Annotated, Final
from urllib.parse import urlsplit

from fastapi import Depends, Form, Request
from pydantic import TypeAdapter, ValidationError
from sqlalchemy import Engine, select
from sqlmodel import col

from server.store.engine import reading, writing
from server.store.models import OfficeKeyRow
from server.store.record import RecordStore, utc_now
from shared_schema.errors import BadId, NotAllowed
from shared_schema.ids import Name

__all__ = ["COOKIE", "KEY_LASTS", "Caller", "Checked", "Visitor", "make_office_key", "visitor_with"]

KEY_LASTS: Final = timedelta(days=30)
COOKIE: Final = "crosstree_office"
_NAME: Final[TypeAdapter[str]] = TypeAdapter(Name)


@dataclass(frozen=True, slots=True)
class Visitor:
    """Somebody with a key. `person` is the id that a ruling of theirs is by; `token` goes into every form."""

    person: str
    name: str
    token: str
    expires_ms: int


def make_office_key(engine: Engine, nursery: int, person: str, lasts: timedelta = KEY_LASTS) -> str:
    """A new key to the office pages of a nursery (its row id) for a person (their id); nobody can read it again.

    The link is `/door/<key>` on the server. Raises BadId where no person can be called that.
    """
    try:
        _NAME.validate_python(person)
    except ValidationError as error:
        raise BadId(f"{person!r} is no person's id: letters, digits, dots and dashes, at most 48") from error
    key = secrets.token_urlsafe(32)
    expires = int((utc_now() + lasts).timestamp() * 1000)
    with writing(engine) as connection:
        values = {"key_hash": _hash(key), "nursery": nursery, "person": person, "expires": expires}
        connection.execute(OfficeKeyRow.__table__.insert().values(**values))  # type: ignore[attr-defined]
    return key


def visitor_with(store: RecordStore, key: str) -> Visitor:
    """Whose key this is. Raises NotAllowed where it is unknown, of another nursery, or too old."""
    with reading(store.engine) as connection:
        found = connection.execute(
            select(col(OfficeKeyRow.person), col(OfficeKeyRow.expires), col(OfficeKeyRow.nursery)).where(
                col(OfficeKeyRow.key_hash) == _hash(key)
            )
        ).one_or_none()
    if found is None or found.nursery != store.nursery:
        raise NotAllowed("this key is not known here: ask for a new link to the office pages")
    if found.expires < int(store.clock().timestamp() * 1000):
        raise NotAllowed("this key is too old: ask for a new link to the office pages")
    token = hmac.new(key.encode(), b"crosstree form", hashlib.sha256).hexdigest()
    name = store.standing(f"person:{found.person}").value("name")
    return Visitor(found.person, name or found.person, token, found.expires)


def _caller(request: Request) -> Visitor:
    key = request.cookies.get(COOKIE)
    if not key:
        raise NotAllowed("the office pages need a key: ask for a link to them")
    store: RecordStore = request.app.state.store
    return visitor_with(store, key)


Caller = Annotated[Visitor, Depends(_caller)]
"""Who calls a page."""


def _checked(request: Request, caller: Caller, token: Annotated[str, Form()] = "") -> Visitor:
    if not _from_these_pages(request):
        raise NotAllowed("this form did not come from these pages: open the page here and send it again")
    if not hmac.compare_digest(token.encode(), caller.token.encode()):
        raise NotAllowed("this form belongs to another key: open the page again and send it once more")
    return caller


Checked = Annotated[Visitor, Depends(_checked)]
"""Who sends a form, after it was checked that the form is one of ours."""


def _from_these_pages(request: Request) -> bool:
    """Whether the browser says so. One that says nothing is refused: all that are in use say one or the other."""
    site, origin = request.headers.get("sec-fetch-site"), request.headers.get("origin")
    if site is not None and site != "same-origin":
        return False
    if origin is not None:
        # Only the host is compared: behind a proxy the scheme seen here may be another.
        return urlsplit(origin).netloc == request.headers.get("host")
    return site is not None


def _hash(key: str) -> str:
    return hashlib.sha256(key.encode()).hexdigest()
