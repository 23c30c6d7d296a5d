"""Signing in with a name and a password, and changing the password. A name that is unknown and a wrong password get one answer."""

import unicodedata
from typing import Any, Final

from sqlalchemy import Connection, Row, bindparam, select, update
from sqlmodel import col

from server.access.passwords import check_password, fits, hash_password
from server.access.sessions import Held, begin_session, end_other_sessions
from server.access.trail import STRANGER, Actor, note
from server.access.tries import count_a_try, forget_tries
from server.store.engine import reading, writing
from server.store.office_tables import AccountRow
from server.store.record import RecordStore
from shared_schema.errors import NotAllowed, SchemaError

__all__ = ["change_password", "sign_in"]

_REFUSED: Final = "name and password do not fit together: try again, or ask a supervisor for a link to set a new password"

_ROW: Final = select(AccountRow.__table__).where(  # type: ignore[attr-defined]
    col(AccountRow.nursery) == bindparam("nursery"), col(AccountRow.person) == bindparam("person")
)


def sign_in(store: RecordStore, who: str, password: str, browser: str, address: str) -> str:
    """Let somebody in by their person id or name; gives what the session's cookie holds.

    Raises NotAllowed with the same words, after the same work, whatever was wrong; TooManyTries.
    """
    count_a_try(store, who, address)
    account = _meant(store, who)
    right = fits(password, None if account is None or not account.active else account.password_hash)
    secret = None
    with writing(store.engine) as connection:
        if account is not None and right and _is_still(connection, store, account):
            secret = begin_session(connection, store, account.person, browser, address)
            note(connection, store, Actor(account.person, address), "signed_in", account.person)
        else:
            person = "" if account is None else account.person
            note(connection, store, Actor(STRANGER, address), "sign_in_refused", person)
    if secret is None:
        raise NotAllowed(_REFUSED)
    forget_tries(store, who, address)
    return secret


def change_password(store: RecordStore, held: Held, old: str, new: str, address: str) -> None:
    """Change one's own password; one's other sessions end. Who never had one sets it without an old one.

    Raises SchemaError where the new one is no good or the old one is wrong, TooManyTries.
    """
    count_a_try(store, held.person, address)
    with reading(store.engine) as connection:
        kept = connection.execute(_ROW, _key(store, held.person)).one().password_hash
    if kept is not None and not fits(old, kept):
        raise SchemaError("the old password is not right: type it again")
    fresh = hash_password(check_password(new, held.person, held.name))
    with writing(store.engine) as connection:
        connection.execute(
            update(AccountRow)
            .where(col(AccountRow.nursery) == store.nursery, col(AccountRow.person) == held.person)
            .values(password_hash=fresh)
        )
        end_other_sessions(connection, store, held.person, held.session)
        note(connection, store, Actor(held.person, address), "password_changed", held.person)
    forget_tries(store, held.person, address)


def _key(store: RecordStore, person: str) -> dict[str, Any]:
    return {"nursery": store.nursery, "person": person}


def _meant(store: RecordStore, who: str) -> Row[Any] | None:
    """The account that a text names: by its id, else by a name that only one has. Capitals do not matter."""
    wanted = _folded(who)
    with reading(store.engine) as connection:
        rows = connection.execute(select(AccountRow.__table__).where(col(AccountRow.nursery) == store.nursery)).all()  # type: ignore[attr-defined]
    by_id = [row for row in rows if _folded(row.person) == wanted]
    found = by_id or [row for row in rows if _folded(row.name) == wanted]
    return found[0] if len(found) == 1 else None


def _folded(text: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())


def _is_still(connection: Connection, store: RecordStore, then: Row[Any]) -> bool:
    """Whether nobody closed the account or changed its password while the password was looked at."""
    now = connection.execute(_ROW.with_for_update(), _key(store, then.person)).one_or_none()
    return now is not None and bool(now.active) and bool(now.password_hash == then.password_hash)
