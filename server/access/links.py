"""Links that work once: to set a password (an invitation, or a reset), or to sign in. Only their hash is kept."""

import hashlib
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Final, Literal, TypeAlias, cast

from sqlalchemy import Connection, delete, select, update
from sqlmodel import col

from server.access.accounts import read_account
from server.access.passwords import check_password, hash_password
from server.access.sessions import begin_session, end_other_sessions
from server.access.trail import Actor, Deed, note
from server.store.engine import reading, writing
from server.store.office_tables import AccountRow, LinkRow
from server.store.record import RecordStore
from shared_schema.errors import NotAllowed, SpentCode

__all__ = ["LINK_LASTS", "Link", "Purpose", "make_link", "read_link", "set_password_by_link", "sign_in_by_link"]

Purpose: TypeAlias = Literal["password", "sign_in"]

LINK_LASTS: Final[Mapping[Purpose, timedelta]] = {"password": timedelta(days=3), "sign_in": timedelta(hours=1)}
_NOTED: Final[Mapping[Purpose, Deed]] = {"password": "password_link_made", "sign_in": "sign_in_link_made"}


@dataclass(frozen=True, slots=True)
class Link:
    """Whom a link is for, and what it is good for."""

    person: str
    name: str
    purpose: Purpose


def make_link(store: RecordStore, person: str, purpose: Purpose, by: Actor, lasts: timedelta | None = None) -> str:
    """A new link, as `/door/<it>` on the server; an older one of that purpose is no good any more.

    Raises NothingSuch, NotAllowed for an account that is closed.
    """
    if not read_account(store, person).active:
        raise NotAllowed("the account %(person)r is closed: open it again first", person=person)
    secret = secrets.token_urlsafe(32)
    until = int((store.clock() + (lasts or LINK_LASTS[purpose])).timestamp() * 1000)
    row = LinkRow(nursery=store.nursery, link_hash=_hash(secret), person=person, purpose=purpose, expires=until)
    with writing(store.engine) as connection:
        connection.execute(
            delete(LinkRow).where(
                col(LinkRow.nursery) == store.nursery,
                col(LinkRow.person) == person,
                col(LinkRow.purpose) == purpose,
                col(LinkRow.used) == 0,
            )
        )
        connection.execute(LinkRow.__table__.insert().values(**row.model_dump()))  # type: ignore[attr-defined]
        note(connection, store, by, _NOTED[purpose], person)
    return secret


def read_link(store: RecordStore, secret: str) -> Link:
    """What a link is good for; reading does not use it up. Raises SpentCode where it was used or is too old, NotAllowed."""
    with reading(store.engine) as connection:
        found = connection.execute(
            select(col(LinkRow.purpose), col(LinkRow.used), col(LinkRow.expires), col(AccountRow.person), col(AccountRow.name))
            .join(
                AccountRow,
                (col(AccountRow.nursery) == col(LinkRow.nursery)) & (col(AccountRow.person) == col(LinkRow.person)),
            )
            .where(col(LinkRow.nursery) == store.nursery, col(LinkRow.link_hash) == _hash(secret), col(AccountRow.active).is_(True))
        ).one_or_none()
    if found is None:
        raise NotAllowed("this link is not known here, or a newer one took its place: ask for another")
    if found.used:
        raise SpentCode("this link was used already, and works only once: sign in, or ask for another")
    if found.expires < _now(store):
        raise SpentCode("this link is too old: ask for another")
    return Link(found.person, found.name, cast("Purpose", found.purpose))


def set_password_by_link(store: RecordStore, secret: str, password: str, address: str) -> Link:
    """Use a link up for a password. Whoever is signed in with the old one is out. Raises SchemaError, NotAllowed."""
    link = read_link(store, secret)
    if link.purpose != "password":
        raise NotAllowed("this link signs in, and sets no password: open it, and change the password under your name")
    kept = hash_password(check_password(password, link.person, link.name))
    with writing(store.engine) as connection:
        _use_up(connection, store, secret)
        connection.execute(
            update(AccountRow)
            .where(col(AccountRow.nursery) == store.nursery, col(AccountRow.person) == link.person)
            .values(password_hash=kept)
        )
        end_other_sessions(connection, store, link.person)
        note(connection, store, Actor(link.person, address), "password_set", link.person)
    return link


def sign_in_by_link(store: RecordStore, secret: str, browser: str, address: str) -> str:
    """Use a link up to sign in; gives what the session's cookie holds. Raises NotAllowed."""
    link = read_link(store, secret)
    if link.purpose != "sign_in":
        raise NotAllowed("this link sets a password, and does not sign in")
    with writing(store.engine) as connection:
        _use_up(connection, store, secret)
        session = begin_session(connection, store, link.person, browser, address)
        note(connection, store, Actor(link.person, address), "signed_in", link.person, "link")
    return session


def _use_up(connection: Connection, store: RecordStore, secret: str) -> None:
    used = connection.execute(
        update(LinkRow)
        .where(
            col(LinkRow.nursery) == store.nursery,
            col(LinkRow.link_hash) == _hash(secret),
            col(LinkRow.used) == 0,
            col(LinkRow.expires) >= _now(store),
        )
        .values(used=_now(store))
    )
    if used.rowcount != 1:
        raise SpentCode("this link was used already, and works only once: sign in, or ask for another")


def _now(store: RecordStore) -> int:
    return int(store.clock().timestamp() * 1000)


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
