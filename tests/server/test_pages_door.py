"""The office pages open only to whoever signed in, and forms work only from the pages themselves."""

from collections.abc import Iterator
from urllib.parse import quote

import httpx
import pytest

from server.store.record import RecordStore
from tests.server.conftest import Nursery
from tests.server.running import running
from tests.server.small_nursery import NOW, fill
from tests.server.visitor import Visitor, link_for

Office = tuple[str, RecordStore]
QUESTIONS = f"/surveys/{NOW}/questions"


@pytest.fixture
def office(lite: Nursery) -> Iterator[Office]:
    """The address of the small nursery's server, and its record."""
    settings, store = lite
    fill(store)
    with running(settings) as (url, _):
        yield url, store


def test_without_signing_in_every_page_asks_to_sign_in(office: Office) -> None:
    """Nothing of the record is shown, and after signing in the page that was asked for comes."""
    for path in ("/", f"/surveys/{NOW}", QUESTIONS, "/fragments/T1-001", "/discrepancies", "/set-aside?page=2"):
        answer = httpx.get(office[0] + path)
        assert answer.status_code == 403
        assert f'name="onward" value="{path}"' in answer.text
        asked = (path, quote(path, safe=""))  # they know that: it stands in the form, and in the links to other languages
        assert "T1-" not in answer.text.replace(asked[0], "").replace(asked[1], "")


def test_a_nursery_without_a_supervisor_says_how_to_make_one(office: Office) -> None:
    """The page names the command; once there is a supervisor it does so no more."""
    url, store = office
    assert "crosstree office first" in httpx.get(f"{url}/door").text
    link_for(store)
    assert "crosstree office first" not in httpx.get(f"{url}/door").text


def test_a_link_lets_a_browser_in_with_a_cookie_that_scripts_and_other_sites_cannot_use(office: Office) -> None:
    """The cookie is HttpOnly and SameSite=Strict, and over TLS it never goes without; the database holds only its hash."""
    url, store = office
    answer = httpx.get(url + link_for(store))
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    assert "Secure" not in cookie
    assert "Secure" in httpx.get(url + link_for(store), headers={"X-Forwarded-Proto": "https"}).headers["set-cookie"]
    with store.engine.connect() as connection:
        rows = connection.exec_driver_sql("SELECT session FROM office_session").scalars().all()
    assert len(rows) == 2
    assert answer.cookies["crosstree_office"] not in rows


@pytest.mark.parametrize("key", ["wrong", "%2e%2e", "x" * 400])
def test_a_wrong_link_is_refused(office: Office, key: str) -> None:
    """A link that nobody made opens nothing and sets no cookie."""
    answer = httpx.get(f"{office[0]}/door/{key}")
    assert answer.status_code in (303, 403, 404)
    assert "set-cookie" not in answer.headers


def test_a_page_that_another_site_leads_to_is_asked_for_again_from_here(office: Office) -> None:
    """The strict cookie does not come along from a mail page: the browser is sent to the same address once more."""
    url, _ = office
    answer = httpx.get(url + QUESTIONS, headers={"Sec-Fetch-Site": "cross-site"})
    assert f'content="0; url={QUESTIONS}"' in answer.text
    assert httpx.get(url + QUESTIONS, headers={"Sec-Fetch-Site": "same-origin"}).status_code == 403


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


def test_a_form_with_another_sessions_token_changes_nothing(office: Office) -> None:
    """A token fits the session whose page showed it."""
    url, store = office
    visitor, other = Visitor(url, store), Visitor(url, store, "ana")
    form = other.forms(QUESTIONS, "/status")[0]
    before = store.heads()
    assert visitor.send(form, take="other", other="alive").status_code == 403
    assert store.heads() == before


def test_a_form_without_a_session_changes_nothing(office: Office) -> None:
    """The token alone opens nothing."""
    url, store = office
    form = Visitor(url, store).forms(QUESTIONS, "/status")[0]
    before = store.heads()
    stranger = Visitor(url, store)
    stranger.cookies = {}
    assert stranger.send(form, take="other", other="alive").status_code == 403
    assert store.heads() == before


def test_signing_out_ends_the_session_and_not_only_the_cookie(office: Office) -> None:
    """Afterwards the cookie opens nothing, even where somebody kept a copy of it."""
    url, store = office
    visitor = Visitor(url, store)
    answer = visitor.send(visitor.forms("/", "/leave")[0])
    assert (answer.status_code, answer.headers["location"]) == (303, "/door?told=out")
    assert 'crosstree_office=""; ' in answer.headers["set-cookie"]
    assert "Max-Age=0" in answer.headers["set-cookie"]
    assert answer.headers["clear-site-data"] == '"cache"'
    assert visitor.get("/").status_code == 403


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
