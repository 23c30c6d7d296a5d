"""What supervisors do about tablets, with a line in the trail for each."""

from collections.abc import Callable
from datetime import datetime

from sqlalchemy import Connection

from server.access.trail import Actor, Deed, note
from server.store.record import RecordStore
from server.store.tablets import Credentials, enrol, let_in_again, new_code, withdraw
from shared_schema.errors import SchemaError

__all__ = ["enrol_tablet", "let_tablet_in", "make_code", "withdraw_tablet"]


def make_code(store: RecordStore, by: Actor) -> tuple[str, datetime]:
    """A one-time code that enrols one tablet, and until when it can be used."""
    return new_code(store, _noting(store, by, "code_made"))


def enrol_tablet(store: RecordStore, code: str, name: str, address: str) -> Credentials:
    """Spend a code. Raises NotAllowed, SpentCode."""

    def also(connection: Connection, tablet: str) -> None:
        note(connection, store, Actor(tablet, address), "tablet_enrolled", tablet, name)

    return enrol(store, code, name, also)


def withdraw_tablet(store: RecordStore, tablet: str, why: str, by: Actor) -> None:
    """Take a tablet's leave away, for a reason. Raises SchemaError without one, NothingSuch."""
    reason = " ".join(why.split())[:400]
    if not reason:
        raise SchemaError("say why the tablet is withdrawn, as: lost overboard on 14 November")
    withdraw(store, tablet, reason, _noting(store, by, "tablet_withdrawn", reason))


def let_tablet_in(store: RecordStore, tablet: str, by: Actor) -> None:
    """Undo a withdrawal. Raises NothingSuch."""
    let_in_again(store, tablet, _noting(store, by, "tablet_let_in"))


def _noting(store: RecordStore, by: Actor, what: Deed, detail: str = "") -> Callable[[Connection, str], None]:
    return lambda connection, tablet: note(connection, store, by, what, tablet, detail)
