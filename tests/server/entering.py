"""People who set a password and sign in, without any page."""

from datetime import timedelta

from server.access.accounts import make_account
from server.access.links import make_link, set_password_by_link
from server.access.sessions import Held, session_with
from server.access.sign_in import sign_in
from server.access.trail import COMMAND_LINE
from server.store.record import RecordStore, utc_now

__all__ = ["GOOD", "OTHER", "enter", "later", "with_password"]

GOOD = "four words are long"
OTHER = "another four words here"


def later(store: RecordStore, by: timedelta) -> RecordStore:
    """The same record when so much time has passed."""
    return RecordStore(store.engine, store.nursery, lambda: utc_now() + by)


def with_password(store: RecordStore, person: str, role: str = "supervisor", name: str = "") -> str:
    """Somebody who set a password; gives their person id."""
    make_account(store, person, name or person.title(), role, COMMAND_LINE)
    set_password_by_link(store, make_link(store, person, "password", COMMAND_LINE), GOOD, "")
    return person


def enter(store: RecordStore, who: str, password: str = GOOD, address: str = "10.0.0.1") -> Held:
    """Sign in; gives the session."""
    return session_with(store, sign_in(store, who, password, "a browser", address))
