"""Entering the office: passwords, counted tries, links and sessions, on each database."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest

from server.access.accounts import (
    close_account,
    make_account,
)
from server.access.links import make_link, read_link, set_password_by_link, sign_in_by_link
from server.access.passwords import check_password
from server.access.sessions import IDLE_LASTS, SESSION_LASTS, end_session, list_sessions, session_with
from server.access.sign_in import change_password, sign_in
from server.access.trail import COMMAND_LINE, Actor
from server.access.tries import PER_ACCOUNT, PER_ADDRESS, WINDOW_MS, count_a_try, forget_tries
from server.store.record import RecordStore
from shared_schema.errors import NotAllowed, NothingSuch, SchemaError, SpentCode, TooManyTries
from tests.server.conftest import Nursery
from tests.server.entering import GOOD, OTHER, enter, later, with_password


def test_somebody_signs_in_by_id_or_by_name(nursery: Nursery) -> None:
    """Capitals and blanks do not matter; a name that two have says neither."""
    _, store = nursery
    with_password(store, "ines", name="Inés Office")
    for who in ("ines", " Ines ", "INÉS  office"):
        assert enter(store, who).person == "ines"
    with_password(store, "ines2", name="Inés Office")
    assert enter(store, "ines").person == "ines"
    with pytest.raises(NotAllowed):
        enter(store, "Inés Office")


def test_what_was_wrong_is_never_said(lite: Nursery) -> None:
    """Unknown, wrong password, none set, closed: the answer is the same to the letter."""
    _, store = lite
    with_password(store, "ines")
    with_password(store, "gone", "crew")
    close_account(store, "gone", COMMAND_LINE)
    make_account(store, "new", "New", "crew", COMMAND_LINE)
    said = set()
    for who, password in (("nobody", GOOD), ("ines", "wrong"), ("gone", GOOD), ("new", ""), ("new", "nobody has this password")):
        with pytest.raises(NotAllowed) as refused:
            enter(store, who, password)
        said.add((type(refused.value), str(refused.value)))
    assert len(said) == 1


def test_after_ten_wrong_passwords_even_the_right_one_waits(nursery: Nursery) -> None:
    """The count is in the database, so it holds for all processes; after a quarter of an hour it begins anew."""
    _, store = nursery
    with_password(store, "ines")
    for _ in range(PER_ACCOUNT):
        with pytest.raises(NotAllowed, match="do not fit"):
            enter(store, "ines", "wrong")
    other_process = RecordStore(store.engine, store.nursery)
    with pytest.raises(TooManyTries):
        enter(other_process, "INES", GOOD, "10.9.9.9")
    with pytest.raises(TooManyTries):
        enter(store, "ines", GOOD, "10.9.9.9")
    assert enter(later(store, timedelta(milliseconds=WINDOW_MS + 60_000)), "ines").person == "ines"


def test_names_that_nobody_has_are_counted_alike(lite: Nursery) -> None:
    """Or the limit would tell which accounts there are."""
    _, store = lite
    for _ in range(PER_ACCOUNT):
        with pytest.raises(NotAllowed, match="do not fit"):
            enter(store, "nobody", "wrong")
    with pytest.raises(TooManyTries):
        enter(store, "nobody", "wrong")


def goes(store: RecordStore, who: str, address: str) -> bool:
    """Whether a try is let through to the password."""
    try:
        count_a_try(store, who, address)
    except TooManyTries:
        return False
    return True


def test_one_network_cannot_try_one_name_after_the_other(lite: Nursery) -> None:
    """Addresses of one IPv6 network count as one; others are not held up, and successes are not counted."""
    _, store = lite
    for _ in range(PER_ADDRESS):
        assert goes(store, "ines", "2001:db8::1")
        forget_tries(store, "ines", "2001:db8::1")
    assert all(goes(store, f"guess{number}", f"2001:db8::{number + 1}") for number in range(PER_ADDRESS))
    assert not goes(store, "ines", "2001:db8::ffff")
    assert goes(store, "ines", "2001:db8:0:1::1")


def test_tries_at_one_moment_are_all_counted(nursery: Nursery) -> None:
    """Forty at once, as from several processes: as many are let through as one after the other."""
    _, store = nursery
    with ThreadPoolExecutor(8) as crowd:
        passed = list(crowd.map(lambda number: goes(store, "ines", f"10.0.0.{number}"), range(40)))
    assert sum(passed) == PER_ACCOUNT


def test_a_link_sets_a_password_once(nursery: Nursery) -> None:
    """Looking at it uses nothing up; a second time, too late, or after a newer one it is refused."""
    _, store = nursery
    make_account(store, "ines", "Inés", "supervisor", COMMAND_LINE)
    old, link = (make_link(store, "ines", "password", COMMAND_LINE) for _ in range(2))
    with pytest.raises(NotAllowed):
        read_link(store, old)
    assert read_link(store, link).person == read_link(store, link).person == "ines"
    with pytest.raises(SpentCode, match="too old"):
        set_password_by_link(later(store, timedelta(days=4)), link, GOOD, "")
    with pytest.raises(SchemaError):
        set_password_by_link(store, link, "short", "")
    set_password_by_link(store, link, GOOD, "")
    with pytest.raises(SpentCode, match="only once"):
        set_password_by_link(store, link, OTHER, "")
    assert enter(store, "ines").person == "ines"


def test_a_link_does_only_what_it_is_for(lite: Nursery) -> None:
    """One to sign in sets no password, and the other way round."""
    _, store = lite
    make_account(store, "ines", "Inés", "supervisor", COMMAND_LINE)
    with pytest.raises(NotAllowed):
        set_password_by_link(store, make_link(store, "ines", "sign_in", COMMAND_LINE), GOOD, "")
    with pytest.raises(NotAllowed):
        sign_in_by_link(store, make_link(store, "ines", "password", COMMAND_LINE), "", "")
    link = make_link(store, "ines", "sign_in", COMMAND_LINE)
    assert session_with(store, sign_in_by_link(store, link, "", "")).person == "ines"
    with pytest.raises(SpentCode):
        sign_in_by_link(store, link, "", "")


def test_a_new_password_ends_what_the_old_one_began(nursery: Nursery) -> None:
    """By a link all sessions end; changing it oneself keeps the one that one is in."""
    _, store = nursery
    with_password(store, "ines")
    first, second = (sign_in(store, "ines", GOOD, "", "") for _ in range(2))
    with pytest.raises(SchemaError, match="old password"):
        change_password(store, session_with(store, first), "wrong", OTHER, "")
    change_password(store, session_with(store, first), GOOD, OTHER, "")
    assert session_with(store, first).person == "ines"
    with pytest.raises(NotAllowed):
        session_with(store, second)
    set_password_by_link(store, make_link(store, "ines", "password", COMMAND_LINE), GOOD, "")
    with pytest.raises(NotAllowed):
        session_with(store, first)


@pytest.mark.parametrize("password", ["short", "aaaaaaaaaaaaaaaa", "inesines1234", "crosstree2026", "x" * 201, "Ines Office 77"])
def test_a_password_that_others_guess_first_is_refused(password: str) -> None:
    """Too short, too long, a few characters repeated, or little more than a name."""
    with pytest.raises(SchemaError):
        check_password(password, "ines", "Ines Office")


def test_a_password_fits_however_the_keyboard_composes_its_letters(lite: Nursery) -> None:
    """The same letter comes as one sign or as two."""
    _, store = lite
    make_account(store, "ines", "Inés", "supervisor", COMMAND_LINE)
    set_password_by_link(store, make_link(store, "ines", "password", COMMAND_LINE), "café y más café", "")
    assert enter(store, "ines", "cafe\u0301 y ma\u0301s cafe\u0301").person == "ines"


@pytest.mark.parametrize(("after", "in_still"), [(IDLE_LASTS - timedelta(hours=1), True), (IDLE_LASTS + timedelta(hours=1), False)])
def test_a_session_that_nobody_uses_ends(lite: Nursery, after: timedelta, in_still: bool) -> None:
    """A day without a click is the end; a click keeps it."""
    _, store = lite
    with_password(store, "ines")
    key = sign_in(store, "ines", GOOD, "", "")
    if in_still:
        assert session_with(later(store, after), key).person == "ines"
        assert session_with(later(store, after + timedelta(hours=20)), key).person == "ines"
    else:
        with pytest.raises(NotAllowed):
            session_with(later(store, after), key)


def test_a_session_ends_after_a_fortnight_however_much_it_is_used(lite: Nursery) -> None:
    """Half a day at a time, until it is over."""
    _, store = lite
    with_password(store, "ines")
    key = sign_in(store, "ines", GOOD, "", "")
    passed = timedelta()
    while passed + timedelta(hours=12) < SESSION_LASTS:
        passed += timedelta(hours=12)
        session_with(later(store, passed), key)
    with pytest.raises(NotAllowed):
        session_with(later(store, SESSION_LASTS + timedelta(minutes=1)), key)


def test_sessions_are_listed_and_ended_by_their_owner_or_a_supervisor(nursery: Nursery) -> None:
    """What is somebody else's is, to crew, not there."""
    _, store = nursery
    ines, ana = with_password(store, "ines"), with_password(store, "ana", "crew")
    key = sign_in(store, ines, GOOD, "Firefox", "10.0.0.1")
    (listed,) = list_sessions(store, ines)
    assert (listed.browser, listed.address) == ("Firefox", "10.0.0.1")
    with pytest.raises(NothingSuch):
        end_session(store, listed.session, Actor(ana), anyones=False)
    assert session_with(store, key).person == ines
    assert end_session(store, listed.session, Actor(ana), anyones=True) == ines
    with pytest.raises(NotAllowed):
        session_with(store, key)


def test_what_is_kept_opens_nothing(lite: Nursery) -> None:
    """Whoever reads the database finds no password, no cookie and no link, and passwords as argon2id."""
    _, store = lite
    with_password(store, "ines")
    secrets = [sign_in(store, "ines", GOOD, "", ""), make_link(store, "ines", "password", COMMAND_LINE), GOOD]
    with store.engine.connect() as connection:
        kept = [
            repr(connection.exec_driver_sql(f"SELECT * FROM {table}").all())
            for table in ("account", "office_session", "office_link", "office_tries", "office_trail")
        ]
    assert "$argon2id$" in kept[0]
    for secret in secrets:
        assert not any(secret in rows for rows in kept)
