"""Every route, tried as everybody: each gets nothing that is not theirs. The table of routes is complete by construction."""

import re
import secrets
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any
from urllib.parse import quote

import httpx
import pytest
from fastapi import FastAPI
from fastapi.routing import iter_route_contexts
from sqlalchemy import select
from sqlmodel import SQLModel

from server.access.accounts import make_account
from server.access.roles import ROLES, ROUTES, Role, may
from server.access.sessions import begin_session, list_sessions
from server.access.tablets import withdraw_tablet
from server.access.trail import COMMAND_LINE
from server.pages.door import COOKIE, token_for
from server.review.questions import read_question
from server.review.rulings import give_ruling
from server.store.engine import reading, writing
from server.store.opening import create_nursery
from server.store.record import RecordStore, utc_now
from server.store.tablets import enrol, list_tablets, new_code
from tests.server.running import new_nursery, running
from tests.server.small_nursery import NOW, fill

OURS = re.compile(r"T1-0\d\d|Ana Crew|Ben Crew|Orange|First genet|Survey of 2026")
"""What only those may read who are let in."""

PEOPLE: Mapping[Role, str] = {"reader": "rita", "crew": "cleo", "supervisor": "ines"}


@dataclass(frozen=True, slots=True)
class Who:
    """Somebody who tries: what they send, and as what role, if any, they are let in."""

    called: str
    cookie: str = ""
    bearer: str = ""
    role: Role | None = None
    is_tablet: bool = False


@dataclass(frozen=True, slots=True)
class House:
    """A server with the small nursery, and a second nursery in the same database."""

    url: str
    app: FastAPI
    store: RecordStore
    other: RecordStore
    samples: Mapping[str, str]
    strangers: tuple[Who, ...] = field(default=())

    def fresh(self, role: Role) -> Who:
        """Somebody of a role, just signed in."""
        return Who(f"a {role}", cookie=cookie(self.store, PEOPLE[role]), role=role)

    def path(self, route: str) -> str:
        """An address of a route, with names that are in the record."""
        return re.sub(r"\{(\w+)(?::\w+)?\}", lambda found: self.samples.get(found[1], "x"), route.partition(" ")[2])

    def state(self) -> tuple[Any, ...]:
        """All that somebody could have changed."""
        with reading(self.store.engine) as connection:
            rows = [
                connection.execute(select(table).order_by(*table.primary_key)).all()
                for table in (SQLModel.metadata.tables["account"], SQLModel.metadata.tables["office_session"])
            ]
        return (self.store.heads(), list_tablets(self.store), *rows)

    def send(self, route: str, who: Who, *, token: bool = True) -> tuple[int, str, httpx.Headers]:
        """Try a route as a browser of theirs would: status, what can be read at first, headers."""
        headers = {"Origin": self.url, "Sec-Fetch-Site": "same-origin"}
        if who.bearer:
            headers["Authorization"] = f"Bearer {who.bearer}"
        if who.cookie:
            headers["Cookie"] = f"{COOKIE}={who.cookie}"
        method = route.partition(" ")[0]
        body = {"token": token_for(who.cookie)} if token and method == "POST" and "/api" not in route else None
        # Read as far as it comes at once: a page may go on telling what arrives.
        with httpx.stream(method, self.url + self.path(route), headers=headers, data=body, timeout=20) as answer:
            read = answer.read().decode(errors="replace") if answer.status_code != 200 or who.role is None else ""
            asked = self.path(route)  # they know that: it stands in the form to sign in, and in the links to other languages
            return answer.status_code, read.replace(asked, "").replace(quote(asked, safe=""), ""), answer.headers


def cookie(store: RecordStore, person: str) -> str:
    """What the cookie of a new session holds."""
    with writing(store.engine) as connection:
        return begin_session(connection, store, person, "", "")


def cast(store: RecordStore, other: RecordStore) -> tuple[Who, ...]:
    """All who are to get nothing here."""
    for nursery in (store, other):
        for role, person in PEOPLE.items():
            make_account(nursery, person, person.title(), role, COMMAND_LINE)
    lost = enrol(store, new_code(store)[0], "Lost")
    withdraw_tablet(store, lost.writer, "lost", COMMAND_LINE)
    abroad = enrol(other, new_code(other)[0], "Abroad")
    long_ago = RecordStore(store.engine, store.nursery, lambda: utc_now() - timedelta(days=2))
    cookie(store, "ines")
    return (
        Who("nobody"),
        Who("a forger", cookie=secrets.token_urlsafe(32)),
        Who("a reader of the database", cookie=list_sessions(store, "ines")[0].session),
        Who("an expired session", cookie=cookie(long_ago, "ines")),
        Who("the other nursery's supervisor", cookie=cookie(other, "ines")),
        Who("a withdrawn tablet", bearer=lost.token),
        Who("the other nursery's tablet", bearer=abroad.token),
    )


def samples_of(store: RecordStore) -> dict[str, str]:
    """A name for each part of an address."""
    question = read_question(store, NOW, "fragment:T1-001", "status")
    ruling = give_ruling(store, "ines", question, "lost", question.shown, None).ruling
    assert ruling is not None
    return {
        "survey": NOW,
        "structure": "T1",
        "sort": "fragment",
        "name": "T1-006",
        "fact": "status",
        "ruling": ruling.entry.id,
        "sha256": "0" * 64,
        "pack": "0" * 64,
        "tablet": list_tablets(store)[0].writer,
        "person": "cleo",
        "session": "0" * 64,
    }


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """One for all: whoever is refused leaves no trace."""
    with new_nursery(tmp_path_factory.mktemp("house")) as (settings, store), running(settings) as (url, app):
        fill(store)
        other = create_nursery(settings, "The other nursery")
        strangers = cast(store, other)
        yield House(url, app, store, other, samples_of(store), strangers)
        other.engine.dispose()


def test_every_route_of_the_application_stands_in_the_table(house: House) -> None:
    """And the table names none that is not there. A route that nobody thought about is nobody's but the supervisor's."""
    found = set()
    for context in iter_route_contexts(house.app.routes):
        for method in (context.methods or {"GET"}) - {"HEAD"}:
            found.add(f"{method} {context.path}")
    assert found == set(ROUTES)


@pytest.mark.parametrize("route", sorted(ROUTES))
def test_who_may_not_gets_nothing_and_changes_nothing(house: House, route: str) -> None:
    """Refused before anything is looked up: not even whether a name is in the record can be told."""
    needed = ROUTES[route]
    people = [house.fresh(role) for role in ROLES]
    tablet = enrol(house.store, new_code(house.store)[0], "Deck")
    tries = [*house.strangers, *people, Who("a tablet", bearer=tablet.token, is_tablet=True)]
    refused = [one for one in tries if not _may(one, needed)]
    assert bool(refused) == (needed != "anyone")
    before = house.state()
    for who in refused:
        status, read, headers = house.send(route, who)
        assert status == (401 if needed == "tablet" else 403), who.called
        assert not OURS.search(read), who.called
        assert "set-cookie" not in headers, who.called
    assert house.state() == before


def _may(who: Who, needed: Any) -> bool:
    if needed == "anyone" or (needed == "tablet" and who.is_tablet):
        return True
    return who.role is not None and may(who.role, needed)


@pytest.mark.parametrize("route", sorted(ROUTES))
def test_who_may_is_let_through(house: House, route: str) -> None:
    """Whatever comes of it then, it is neither refused nor an error of the server."""
    needed = ROUTES[route]
    if needed == "anyone":
        status, read, _ = house.send(route, Who("nobody"))
        assert status < 500
        assert not OURS.search(read)
    elif needed == "tablet":
        tablet = enrol(house.store, new_code(house.store)[0], "Deck")
        status, _, _ = house.send(route, Who("a tablet", bearer=tablet.token))
        assert status not in (401, 403)
        assert status < 500
    else:
        for role in ROLES[ROLES.index(needed) :]:
            status, _, _ = house.send(route, house.fresh(role))
            assert status not in (401, 403), role
            assert status < 500, role


@pytest.mark.parametrize("route", sorted(route for route, who in ROUTES.items() if route.startswith("POST") and who in ROLES))
def test_no_form_works_without_the_token_of_its_page(house: House, route: str) -> None:
    """Another site can make a browser send a form, and cannot know the token."""
    supervisor = house.fresh("supervisor")
    before = house.state()
    status, read, _ = house.send(route, supervisor, token=False)
    assert status == 403
    assert not OURS.search(read)
    assert house.state() == before


def test_crew_cannot_end_the_session_of_somebody_else(house: House) -> None:
    """Nor learn whether it is there; a supervisor of the other nursery cannot either."""
    key = cookie(house.store, "ines")
    session = list_sessions(house.store, "ines")[0].session
    crew = house.fresh("crew")
    answer = httpx.post(
        f"{house.url}/sessions/{session}/ended",
        data={"token": token_for(crew.cookie)},
        headers={"Origin": house.url, "Cookie": f"{COOKIE}={crew.cookie}"},
    )
    assert answer.status_code == 404
    assert httpx.get(f"{house.url}/account", headers={"Cookie": f"{COOKIE}={key}"}).status_code == 200
