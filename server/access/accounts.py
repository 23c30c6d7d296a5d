"""Accounts: who may enter the office pages, and as what. There is always a supervisor who can sign in, once there was one."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from pydantic import TypeAdapter, ValidationError
from sqlalchemy import Connection, Row, delete, select, update
from sqlmodel import col

from server.access.roles import ROLES, Role
from server.access.trail import Actor, note
from server.store.engine import reading, writing
from server.store.office_tables import AccountRow, LinkRow, SessionRow
from server.store.record import RecordStore
from shared_schema.errors import BadId, NotAllowed, NothingSuch, RecordError, SchemaError
from shared_schema.ids import Name

__all__ = [
    "Account",
    "change_role",
    "choose_language",
    "close_account",
    "list_accounts",
    "make_account",
    "make_first_supervisor",
    "open_account_again",
    "read_account",
]

_PERSON: TypeAdapter[str] = TypeAdapter(Name)


@dataclass(frozen=True, slots=True)
class Account:
    """Somebody who may enter while `active`; `person` is the id that rulings of theirs are by.

    `language` is the code of what they read the pages in, "" for what their browser asks for.
    """

    person: str
    name: str
    role: Role
    active: bool
    has_password: bool
    made_ms: int
    language: str = ""


def list_accounts(store: RecordStore) -> list[Account]:
    """Every account, closed ones too, by name."""
    with reading(store.engine) as connection:
        found = _accounts(connection, store)
    return sorted(found, key=lambda one: (one.name.casefold(), one.person))


def read_account(store: RecordStore, person: str) -> Account:
    """Somebody's account. Raises NothingSuch."""
    with reading(store.engine) as connection:
        return _account(connection, store, person)


def make_account(store: RecordStore, person: str, name: str, role: str, by: Actor) -> Account:
    """A new account, without a password: a link lets its owner set one.

    Raises SchemaError for an id, name or role that cannot be, RecordError where there is such an account already.
    """
    with writing(store.engine) as connection:
        store.lock(connection)
        made = _make(connection, store, person, name, role)
        note(connection, store, by, "invited", person, role)
    return made


def make_first_supervisor(store: RecordStore, person: str, name: str, by: Actor) -> Account:
    """The account of a nursery's first supervisor. Raises NotAllowed where there is a supervisor already; as make_account."""
    with writing(store.engine) as connection:
        store.lock(connection)
        there = [one for one in _accounts(connection, store) if _rules(one)]
        if there:
            raise NotAllowed(
                "this nursery has a supervisor already, %(name)s (%(person)s), who can invite others; `crosstree "
                "office link %(person)s` lets them in again",
                name=there[0].name,
                person=there[0].person,
            )
        made = _make(connection, store, person, name, "supervisor")
        note(connection, store, by, "first_made", person)
    return made


def change_role(store: RecordStore, person: str, role: str, by: Actor) -> Account:
    """Let somebody do more, or less; it holds from their next click on. Raises NothingSuch, SchemaError, NotAllowed."""
    checked = _role(role)

    def change(connection: Connection, account: Account) -> None:
        _set(connection, store, person, role=checked)
        note(connection, store, by, "role_changed", person, f"{account.role} → {checked}")

    return _change(store, person, change)


def choose_language(store: RecordStore, person: str, language: str) -> None:
    """Read the pages in a language, by its code; "" is what the browser asks for. Raises NothingSuch."""
    with writing(store.engine) as connection:
        _account(connection, store, person)
        _set(connection, store, person, language=language)


def close_account(store: RecordStore, person: str, by: Actor) -> Account:
    """Let somebody in no more: their sessions and links end at once. Raises NothingSuch, NotAllowed."""

    def change(connection: Connection, _: Account) -> None:
        _set(connection, store, person, active=False)
        for table in (SessionRow, LinkRow):
            connection.execute(delete(table).where(col(table.nursery) == store.nursery, col(table.person) == person))
        note(connection, store, by, "closed", person)

    return _change(store, person, change)


def open_account_again(store: RecordStore, person: str, by: Actor) -> Account:
    """Let somebody in as before; the password is the one they had. Raises NothingSuch."""

    def change(connection: Connection, _: Account) -> None:
        _set(connection, store, person, active=True)
        note(connection, store, by, "opened_again", person)

    return _change(store, person, change)


def _change(store: RecordStore, person: str, change: Callable[[Connection, Account], None]) -> Account:
    with writing(store.engine) as connection:
        store.lock(connection)
        account = _account(connection, store, person)
        change(connection, account)
        after = _accounts(connection, store)
        if any(test(account) and not any(test(one) for one in after) for test in (_rules, _leads)):
            raise NotAllowed(
                "%(name)s is the last supervisor who can sign in: make somebody else a supervisor first, and wait "
                "until they have set a password",
                name=account.name,
            )
        return next(one for one in after if one.person == person)


def _rules(account: Account) -> bool:
    return account.active and account.role == "supervisor"


def _leads(account: Account) -> bool:
    return _rules(account) and account.has_password


def _make(connection: Connection, store: RecordStore, person: str, name: str, role: str) -> Account:
    row = AccountRow(
        nursery=store.nursery,
        person=_person(person.strip()),
        name=_called(name),
        role=_role(role),
        made=int(store.clock().timestamp() * 1000),
    )
    if any(one.person.casefold() == row.person.casefold() for one in _accounts(connection, store)):
        raise RecordError("there is an account %(person)r already: change that one, or choose another id", person=row.person)
    connection.execute(AccountRow.__table__.insert().values(**row.model_dump()))  # type: ignore[attr-defined]
    return _account(connection, store, row.person)


def _person(person: str) -> str:
    try:
        return _PERSON.validate_python(person)
    except ValidationError as error:
        raise BadId("%(person)r is no person's id: letters, digits, dots and dashes, at most 48", person=person) from error


def _called(name: str) -> str:
    plain = " ".join(name.split())
    if not plain or len(plain) > 80 or not plain.isprintable():
        raise SchemaError("%(name)r is no name: write 1 to 80 letters", name=name)
    return plain


def _role(role: str) -> Role:
    if role not in ROLES:
        raise SchemaError("%(role)r is no role: choose one of %(roles)s", role=role, roles=", ".join(ROLES))
    return role


def _accounts(connection: Connection, store: RecordStore) -> list[Account]:
    rows = connection.execute(select(AccountRow.__table__).where(col(AccountRow.nursery) == store.nursery)).all()  # type: ignore[attr-defined]
    return [_from_row(row) for row in rows]


def _account(connection: Connection, store: RecordStore, person: str) -> Account:
    found = connection.execute(
        select(AccountRow.__table__).where(col(AccountRow.nursery) == store.nursery, col(AccountRow.person) == person)  # type: ignore[attr-defined]
    ).one_or_none()
    if found is None:
        raise NothingSuch("there is no account %(person)r: invite them first", person=person)
    return _from_row(found)


def _from_row(row: Row[Any]) -> Account:
    return Account(row.person, row.name, row.role, bool(row.active), row.password_hash is not None, row.made, row.language)


def _set(connection: Connection, store: RecordStore, person: str, **values: object) -> None:
    connection.execute(
        update(AccountRow).where(col(AccountRow.nursery) == store.nursery, col(AccountRow.person) == person).values(**values)
    )
