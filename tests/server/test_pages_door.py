"""The office pages open only with a key, and forms work only from the pages themselves."""

from collections.abc import Iterator
from datetime import timedelta

import httpx
import pytest

from server.pages import make_office_key
from server.store.record import RecordStore
from shared_schema.errors import BadId
from tests.server.conftest import Nursery
from tests.server.running import running
from tests.server.small_nursery import NOW, fill
from tests.server.visitor import Visitor

Office = tuple[str, RecordStore]
QUESTIONS = f"/surveys/{NOW}/questions"


@pytest.fixture
def office(lite: Nursery) -> Iterator[Office]:
    """The address of the small nursery's server, and its record."""
    settings, store = lite
    fill(store)
    with running(settings) as (url, _):
        yield url, store


def test_without_a_key_every_page_says_how_to_get_one(office: Office) -> None:
    """Nothing of the record is shown, and the page names the command that makes a key."""
    for path in ("/", f"/surveys/{NOW}", QUESTIONS, "/fragments/T1-001", "/discrepancies", "/set-aside"):
        answer = httpx.get(office[0] + path)
        assert answer.status_code == 403
        assert "crosstree office key" in answer.text
        assert "T1" not in answer.text


def test_a_link_lets_a_browser_in_with_a_cookie_that_scripts_and_other_sites_cannot_use(office: Office) -> None:
    """The cookie is HttpOnly and SameSite=Strict."""
    url, store = office
    answer = httpx.get(f"{url}/door/{make_office_key(store.engine, store.nursery, 'ines')}")
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie


@pytest.mark.parametrize("key", ["wrong", "%2e%2e", "x" * 400])
def test_a_wrong_key_is_refused(office: Office, key: str) -> None:
    """A key that nobody made opens nothing and sets no cookie."""
    answer = httpx.get(f"{office[0]}/door/{key}")
    assert answer.status_code in (403, 404)
    assert "set-cookie" not in answer.headers


def test_a_key_that_is_too_old_is_refused(office: Office) -> None:
    """A browser that still holds it is asked for a new link."""
    url, store = office
    key = make_office_key(store.engine, store.nursery, "ines", timedelta(seconds=-1))
    assert httpx.get(f"{url}/door/{key}").status_code == 403
    assert httpx.get(url, cookies={"crosstree_office": key}).status_code == 403


def test_a_pasted_link_opens_as_the_link_does(office: Office) -> None:
    """Whoever cannot follow the link pastes it."""
    url, store = office
    key = make_office_key(store.engine, store.nursery, "ines")
    answer = httpx.post(f"{url}/door", data={"key": f" https://nursery.example/door/{key} "})
    assert (answer.status_code, answer.headers["location"]) == (303, f"/door/{key}")


def test_only_the_hash_of_a_key_is_kept(office: Office) -> None:
    """Whoever reads the database cannot enter with what stands there."""
    _, store = office
    key = make_office_key(store.engine, store.nursery, "ines")
    with store.engine.connect() as connection:
        rows = connection.exec_driver_sql("SELECT key_hash FROM office_key").scalars().all()
    assert rows
    assert key not in rows


def test_a_key_for_nobody_is_refused(office: Office) -> None:
    """A person's id must be one that an entry can carry."""
    with pytest.raises(BadId, match="no person's id"):
        make_office_key(office[1].engine, office[1].nursery, "two words")


REFUSED = {
    "from another site": {"Origin": "https://elsewhere.example", "Sec-Fetch-Site": "cross-site"},
    "from another host, said by the origin alone": {"Origin": "https://elsewhere.example", "Sec-Fetch-Site": ""},
    "from a hidden origin": {"Origin": "null", "Sec-Fetch-Site": "same-origin"},
    "from a sister site": {"Sec-Fetch-Site": "same-site"},
}


@pytest.mark.parametrize("said", REFUSED.values(), ids=REFUSED)
def test_a_form_from_elsewhere_changes_nothing(office: Office, said: dict[str, str]) -> None:
    """What another site makes a browser send is refused, token or not."""
    url, store = office
    visitor = Visitor(url, store)
    form = visitor.forms(QUESTIONS, "/status")[0]
    before = store.heads()
    assert visitor.send(form, said, take="other", other="alive").status_code == 403
    assert store.heads() == before


def test_a_request_that_does_not_say_where_it_is_from_changes_nothing(office: Office) -> None:
    """Every browser in use says so; what says nothing is no browser."""
    url, store = office
    visitor = Visitor(url, store)
    form = visitor.forms(QUESTIONS, "/status")[0]
    before = store.heads()
    answer = visitor.post(form.action, dict(form.hidden) | {"take": "other", "other": "alive"}, {})
    assert answer.status_code == 403
    assert store.heads() == before


def test_a_form_with_another_keys_token_changes_nothing(office: Office) -> None:
    """A token fits the key whose page showed it."""
    url, store = office
    visitor, other = Visitor(url, store), Visitor(url, store, "ana")
    form = other.forms(QUESTIONS, "/status")[0]
    before = store.heads()
    assert visitor.send(form, take="other", other="alive").status_code == 403
    assert store.heads() == before


def test_a_form_without_a_key_changes_nothing(office: Office) -> None:
    """The token alone opens nothing."""
    url, store = office
    form = Visitor(url, store).forms(QUESTIONS, "/status")[0]
    before = store.heads()
    stranger = Visitor(url, store)
    stranger.cookies = {}
    assert stranger.send(form, take="other", other="alive").status_code == 403
    assert store.heads() == before


def test_leaving_throws_the_key_away(office: Office) -> None:
    """Afterwards this browser is asked for a link again."""
    url, store = office
    visitor = Visitor(url, store)
    answer = visitor.send(visitor.forms("/", "/leave")[0])
    assert (answer.status_code, answer.headers["location"]) == (303, "/door")
    assert 'crosstree_office=""; ' in answer.headers["set-cookie"]
    assert "Max-Age=0" in answer.headers["set-cookie"]


def test_no_page_may_load_or_run_anything_from_elsewhere(office: Office) -> None:
    """Every answer forbids it, and no page has a script or style of its own in it."""
    url, store = office
    visitor = Visitor(url, store)
    for path in ("/", f"/surveys/{NOW}/structures/T1", QUESTIONS, "/door", "/nothing", "/static/office.css"):
        answer = visitor.get(path)
        assert answer.headers["content-security-policy"].startswith("default-src 'self';"), path
        assert answer.headers["x-content-type-options"] == "nosniff"
        for inline in ("<style", " style=", " onclick", "javascript:", "<script>"):
            assert inline not in answer.text, (path, inline)


def test_a_browser_finds_the_icon_that_it_asks_for(office: Office) -> None:
    """A missing one would be an error in every console."""
    assert httpx.get(f"{office[0]}/favicon.ico").headers["content-type"] == "image/svg+xml"
