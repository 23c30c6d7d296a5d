"""Accounts: what a role and a closed door mean, who can never be shut out, and what the trail tells, on each database."""

from pathlib import Path

import pytest

from server.access.accounts import (
    change_role,
    close_account,
    list_accounts,
    make_account,
    make_first_supervisor,
    open_account_again,
)
from server.access.links import make_link, read_link, set_password_by_link
from server.access.sessions import session_with
from server.access.sign_in import sign_in
from server.access.trail import COMMAND_LINE, Actor, read_trail
from server.settings import Settings
from server.store.backup import back_up, restore
from server.store.photos import PhotoStore
from shared_schema.errors import BadId, NotAllowed, RecordError, SchemaError
from tests.server.conftest import Nursery
from tests.server.entering import GOOD, enter, with_password


def test_a_role_changes_at_once_and_a_closed_account_is_out(nursery: Nursery) -> None:
    """Nobody has to sign in again for it to hold; opened again, the old session stays ended."""
    _, store = nursery
    with_password(store, "ines")
    with_password(store, "ana", "reader")
    key = sign_in(store, "ana", GOOD, "", "")
    change_role(store, "ana", "crew", COMMAND_LINE)
    assert session_with(store, key).role == "crew"
    link = make_link(store, "ana", "password", COMMAND_LINE)
    close_account(store, "ana", COMMAND_LINE)
    for tried in (lambda: session_with(store, key), lambda: read_link(store, link), lambda: enter(store, "ana")):
        with pytest.raises(NotAllowed):
            tried()
    open_account_again(store, "ana", COMMAND_LINE)
    assert enter(store, "ana").role == "crew"
    with pytest.raises(NotAllowed):
        session_with(store, key)


def test_the_last_supervisor_who_can_sign_in_stays(nursery: Nursery) -> None:
    """Neither closed nor made less, even by themselves, while the others have no password."""
    _, store = nursery
    with_password(store, "ines")
    make_account(store, "new", "New", "supervisor", COMMAND_LINE)
    with pytest.raises(NotAllowed, match="last supervisor"):
        close_account(store, "ines", Actor("ines"))
    with pytest.raises(NotAllowed, match="last supervisor"):
        change_role(store, "ines", "crew", Actor("ines"))
    assert [(one.person, one.role, one.active) for one in list_accounts(store)] == [
        ("ines", "supervisor", True),
        ("new", "supervisor", True),
    ]
    set_password_by_link(store, make_link(store, "new", "password", COMMAND_LINE), GOOD, "")
    assert not close_account(store, "ines", Actor("ines")).active


def test_a_supervisor_who_only_has_links_cannot_be_closed_either_while_alone(lite: Nursery) -> None:
    """A nursery is never left to nobody."""
    _, store = lite
    make_first_supervisor(store, "ines", "Inés", COMMAND_LINE)
    with pytest.raises(NotAllowed, match="last supervisor"):
        close_account(store, "ines", Actor("ines"))


def test_the_first_supervisor_is_made_once(nursery: Nursery) -> None:
    """Where there is one the message names them; nobody is added."""
    _, store = nursery
    make_first_supervisor(store, "ines", "Inés", COMMAND_LINE)
    with pytest.raises(NotAllowed, match=r"Inés \(ines\)"):
        make_first_supervisor(store, "eve", "Eve", COMMAND_LINE)
    assert [one.person for one in list_accounts(store)] == ["ines"]


@pytest.mark.parametrize(
    ("person", "name", "role", "error"),
    [
        ("two words", "X", "crew", BadId),
        ("x", "  ", "crew", SchemaError),
        ("x", "X\x00", "crew", SchemaError),
        ("x", "X", "owner", SchemaError),
        ("INES", "X", "crew", RecordError),
    ],
)
def test_an_account_that_cannot_be_is_refused(lite: Nursery, person: str, name: str, role: str, error: type[Exception]) -> None:
    """A malformed id, no name, an unknown role, and an id that differs from another by capitals alone."""
    _, store = lite
    make_account(store, "ines", "Inés", "supervisor", COMMAND_LINE)
    with pytest.raises(error):
        make_account(store, person, name, role, COMMAND_LINE)


def test_the_trail_says_who_did_what_and_from_where(nursery: Nursery) -> None:
    """Newest first; a refused try is nobody's deed, and names the account that was tried."""
    _, store = nursery
    with_password(store, "ines")
    with pytest.raises(NotAllowed):
        enter(store, "ines", "wrong", "10.6.6.6")
    enter(store, "ines", GOOD, "10.0.0.1")
    make_account(store, "ana", "Ana", "crew", Actor("ines", "10.0.0.1"))
    done = [(one.who, one.what, one.about, one.address) for one in read_trail(store, 0, 3)]
    assert sorted(done) == [
        ("?", "sign_in_refused", "ines", "10.6.6.6"),
        ("ines", "invited", "ana", "10.0.0.1"),
        ("ines", "signed_in", "ines", "10.0.0.1"),
    ]


def test_accounts_and_trail_come_back_from_a_backup_and_sessions_do_not(lite: Nursery, tmp_path: Path) -> None:
    """The password is the one from before; whoever was in signs in again."""
    settings, store = lite
    with_password(store, "ines")
    key = sign_in(store, "ines", GOOD, "", "")
    target = tmp_path / "backup.zip"
    back_up(store, PhotoStore(store, settings.photos), target)
    trail = read_trail(store, 0, 99)
    again = restore(target, Settings.of(tmp_path / "fresh", f"sqlite:///{tmp_path / 'fresh' / 'crosstree.sqlite'}"))
    assert read_trail(again, 0, 99) == trail
    with pytest.raises(NotAllowed):
        session_with(again, key)
    assert enter(again, "ines").role == "supervisor"
    again.engine.dispose()
