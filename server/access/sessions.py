"""Sessions: browsers that are in. A cookie holds 256 random bits; here is only their hash, which ends with the row."""

import hashlib
import secrets
from collections.abc import Collection
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from sqlalchemy import Connection, delete, or_, select, update
from sqlmodel import col

from server.access.roles import Role
from server.access.trail import Actor, note
from server.store.engine import reading, writing
from server.store.office_tables import AccountRow, SessionRow
from server.store.record import RecordStore
from shared_schema.errors import NotAllowed, NothingSuch

__all__ = [
    "IDLE_LASTS",
    "SESSION_LASTS",
    "Held",
    "Session",
    "begin_session",
    "end_other_sessions",
    "end_others",
    "end_session",
    "list_sessions",
    "session_with",
    "sign_out",
    "still_in",
]

SESSION_LASTS: Final = timedelta(days=14)
"""However much it is used."""
IDLE_LASTS: Final = timedelta(hours=24)
"""Without a click."""
_NOTED_MS: Final = 5 * 60 * 1000


@dataclass(frozen=True, slots=True)
class Held:
    """Whose session it is, as what they may enter now, and until when at most (milliseconds since 1970 UTC).

    `language` is what they read the pages in, "" for what their browser asks for.
    """

    session: str
    person: str
    name: str
    role: Role
    expires_ms: int
    language: str = ""


@dataclass(frozen=True, slots=True)
class Session:
    """A browser that is in. Times are milliseconds since 1970 UTC; `seen_ms` is true to five minutes."""

    session: str
    person: str
    begun_ms: int
    seen_ms: int
    expires_ms: int
    browser: str
    address: str


def begin_session(connection: Connection, store: RecordStore, person: str, browser: str, address: str) -> str:
    """A new session, in the transaction that let its owner in; gives what the cookie holds, which nobody can read again."""
    secret = secrets.token_urlsafe(32)
    now = _now(store)
    _clear(connection, store, now)
    row = SessionRow(
        nursery=store.nursery,
        session=_hash(secret),
        person=person,
        begun=now,
        seen=now,
        expires=now + _ms(SESSION_LASTS),
        browser=browser[:200],
        address=address,
    )
    connection.execute(SessionRow.__table__.insert().values(**row.model_dump()))  # type: ignore[attr-defined]
    return secret


def session_with(store: RecordStore, secret: str, *, clicked: bool = True) -> Held:
    """Whose session this is; unless `clicked`, asking does not keep it from ending by itself.

    Raises NotAllowed where it was ended, is too old, or never was one of this nursery.
    """
    now = _now(store)
    with reading(store.engine) as connection:
        found = connection.execute(
            select(
                col(SessionRow.session),
                col(SessionRow.seen),
                col(SessionRow.expires),
                col(AccountRow.person),
                col(AccountRow.name),
                col(AccountRow.role),
                col(AccountRow.language),
            )
            .join(
                AccountRow,
                (col(AccountRow.nursery) == col(SessionRow.nursery)) & (col(AccountRow.person) == col(SessionRow.person)),
            )
            .where(
                col(SessionRow.nursery) == store.nursery,
                col(SessionRow.session) == _hash(secret),
                col(AccountRow.active).is_(True),
            )
        ).one_or_none()
    if found is None or found.expires < now or found.seen < now - _ms(IDLE_LASTS):
        raise NotAllowed("you were signed out here, or too much time has passed: sign in again")
    if clicked and found.seen < now - _NOTED_MS:
        with writing(store.engine) as connection:
            connection.execute(
                update(SessionRow)
                .where(col(SessionRow.nursery) == store.nursery, col(SessionRow.session) == found.session)
                .values(seen=now)
            )
    return Held(found.session, found.person, found.name, found.role, found.expires, found.language)


def still_in(store: RecordStore, sessions: Collection[str]) -> set[str]:
    """Those of these sessions, by their hashes, that have not ended."""
    now = _now(store)
    with reading(store.engine) as connection:
        rows = connection.execute(
            select(col(SessionRow.session))
            .join(
                AccountRow,
                (col(AccountRow.nursery) == col(SessionRow.nursery)) & (col(AccountRow.person) == col(SessionRow.person)),
            )
            .where(
                col(SessionRow.nursery) == store.nursery,
                col(SessionRow.session).in_(sessions),
                col(SessionRow.expires) >= now,
                col(SessionRow.seen) >= now - _ms(IDLE_LASTS),
                col(AccountRow.active).is_(True),
            )
        )
        return set(rows.scalars())


def list_sessions(store: RecordStore, person: str) -> list[Session]:
    """Where somebody is signed in now, last used first."""
    now = _now(store)
    with reading(store.engine) as connection:
        rows = connection.execute(
            select(SessionRow.__table__)  # type: ignore[attr-defined]
            .where(
                col(SessionRow.nursery) == store.nursery,
                col(SessionRow.person) == person,
                col(SessionRow.expires) >= now,
                col(SessionRow.seen) >= now - _ms(IDLE_LASTS),
            )
            .order_by(col(SessionRow.seen).desc(), col(SessionRow.session))
        ).all()
    return [Session(r.session, r.person, r.begun, r.seen, r.expires, r.browser, r.address) for r in rows]


def end_session(store: RecordStore, session: str, by: Actor, *, anyones: bool) -> str:
    """End a session by its hash, one's own or with `anyones` somebody else's; gives whose it was. Raises NothingSuch.

    What is not theirs to end is to them as if it were not there.
    """
    which = [col(SessionRow.nursery) == store.nursery, col(SessionRow.session) == session]
    with writing(store.engine) as connection:
        person = connection.execute(select(col(SessionRow.person)).where(*which)).scalar_one_or_none()
        if person is None or not (anyones or person == by.person):
            raise NothingSuch("there is no such session: it may have ended already")
        connection.execute(delete(SessionRow).where(*which))
        note(connection, store, by, "session_ended", person)
    return str(person)


def sign_out(store: RecordStore, held: Held, address: str) -> None:
    """End the session that somebody is in."""
    with writing(store.engine) as connection:
        connection.execute(
            delete(SessionRow).where(col(SessionRow.nursery) == store.nursery, col(SessionRow.session) == held.session)
        )
        note(connection, store, Actor(held.person, address), "signed_out", held.person)


def end_others(store: RecordStore, held: Held, address: str) -> None:
    """End all of one's sessions but the one that one is in."""
    with writing(store.engine) as connection:
        if end_other_sessions(connection, store, held.person, held.session):
            note(connection, store, Actor(held.person, address), "session_ended", held.person)


def end_other_sessions(connection: Connection, store: RecordStore, person: str, kept: str = "") -> int:
    """End all of somebody's sessions but one, within a transaction; gives how many."""
    return connection.execute(
        delete(SessionRow).where(
            col(SessionRow.nursery) == store.nursery, col(SessionRow.person) == person, col(SessionRow.session) != kept
        )
    ).rowcount


def _clear(connection: Connection, store: RecordStore, now: int) -> None:
    over = or_(col(SessionRow.expires) < now, col(SessionRow.seen) < now - _ms(IDLE_LASTS))
    connection.execute(delete(SessionRow).where(col(SessionRow.nursery) == store.nursery, over))


def _now(store: RecordStore) -> int:
    return int(store.clock().timestamp() * 1000)


def _ms(lasts: timedelta) -> int:
    return int(lasts.total_seconds() * 1000)


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
