"""Signing in, inviting, letting tablets in and out: the pages about people and tablets, as a browser without scripts sees them."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from html import unescape

import httpx
import pytest

from server.access.tries import PER_ACCOUNT
from server.store.record import RecordStore
from server.store.tablets import enrol, list_tablets, new_code, note_contact, who_holds
from shared_schema.errors import NotAllowed
from tests.server.conftest import Nursery
from tests.server.running import running
from tests.server.small_nursery import NOW, fill
from tests.server.visitor import Form, Visitor, link_for, texts

PASSWORD = "four words are long"


@dataclass
class Office:
    """The small nursery, and Inés in it."""

    url: str
    store: RecordStore
    ines: Visitor


@pytest.fixture
def office(lite: Nursery) -> Iterator[Office]:
    """Inés is a supervisor."""
    settings, store = lite
    fill(store)
    with running(settings) as (url, _):
        yield Office(url, store, Visitor(url, store))


def submit(url: str, path: str, **fields: str) -> httpx.Response:
    """Send a form before anybody signed in, as a browser does from the page itself."""
    return httpx.post(url + path, data=fields, headers={"Origin": url, "Sec-Fetch-Site": "same-origin"})


def invited(office: Office, person: str, name: str, role: str) -> str:
    """Inés invites somebody; gives the path of the link that she was shown."""
    form = office.ines.forms("/people", "/people")[0]
    answer = office.ines.send(form, person=person, name=name, role=role)
    assert answer.status_code == 200
    shown = re.search(r"/door/[\w-]{43}", answer.text)
    assert shown is not None
    return shown[0]


def enter(office: Office, who: str, password: str = PASSWORD) -> Visitor:
    """Somebody signs in on the page."""
    answer = submit(office.url, "/door", who=who, password=password)
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    visitor = Visitor.__new__(Visitor)
    visitor.url, visitor.cookies = office.url, dict(answer.cookies)
    return visitor


def test_who_is_invited_sets_a_password_and_signs_in(office: Office) -> None:
    """Dora is listed in the record; the link asks twice for a password, and is used up by it."""
    link = invited(office, "dora", "Dora Diver", "crew")
    listed = office.store.standing("person:dora")
    assert (listed.value("name"), listed.value("role")) == ("Dora Diver", "crew")
    assert "Dora Diver" in httpx.get(office.url + link).text
    assert "not the same" in submit(office.url, link, password=PASSWORD, again="something else").text
    assert submit(office.url, link, password="short", again="short").status_code == 422
    answer = submit(office.url, link, password=PASSWORD, again=PASSWORD)
    assert (answer.status_code, answer.headers["location"]) == (303, "/door?told=set&who=dora")
    assert submit(office.url, link, password=PASSWORD, again=PASSWORD).status_code == 403
    assert httpx.get(office.url + link).status_code == 403
    assert "Dora Diver" in enter(office, "Dora Diver").see("/account")


def test_the_link_is_shown_once(office: Office) -> None:
    """Neither the person's page nor the trail has it afterwards."""
    link = invited(office, "dora", "Dora Diver", "crew")
    for path in ("/people/dora", "/people", "/trail"):
        assert link not in office.ines.see(path)
    assert "account made" in office.ines.see("/trail")


def test_a_reader_is_not_named_on_tablets_until_they_are_crew(office: Office) -> None:
    """Who only looks on says nothing that an entry could be by."""
    invited(office, "rita", "Rita", "reader")
    assert office.store.standing("person:rita").facts == {}
    form = office.ines.forms("/people/rita", "/role")[0]
    assert office.ines.send(form, role="crew").status_code == 303
    assert office.store.standing("person:rita").value("role") == "crew"
    assert office.ines.send(form, role="supervisor").status_code == 303
    assert office.store.standing("person:rita").value("role") == "supervisor"
    assert not office.store.finding("", "person:rita").open


def test_who_cannot_be_invited_is_told_why_and_what_was_typed_stays(office: Office) -> None:
    """A second account of one id, an id that cannot be."""
    invited(office, "dora", "Dora Diver", "crew")
    form = office.ines.forms("/people", "/people")[0]
    for person in ("dora", "DORA", "two words"):
        answer = office.ines.send(form, person=person, name="Dora Again", role="reader")
        assert answer.status_code == 422
        assert 'value="Dora Again"' in answer.text
        assert person in unescape(answer.text)


def test_people_of_the_record_are_invited_by_their_id(office: Office) -> None:
    """One button for each who has no account yet; Inés has one."""
    forms = {dict(form.hidden).get("person"): form for form in office.ines.forms("/people", "/people")}
    assert set(forms) == {None, "ana", "ben", "cleo"}
    before = office.store.heads()
    form = forms["ana"]
    assert "Send this link to Ana Crew" in office.ines.send(form).text
    assert office.store.heads() == before


def test_after_signing_in_comes_the_page_that_was_asked_for(office: Office) -> None:
    """An address elsewhere is not followed, however it is written."""
    link = invited(office, "dora", "Dora Diver", "crew")
    submit(office.url, link, password=PASSWORD, again=PASSWORD)
    wanted = f"/surveys/{NOW}/questions?page=1"
    for onward, goes in (
        (wanted, wanted),
        ("//evil.example", "/"),
        ("https://evil.example", "/"),
        ("/\\evil.example", "/"),
        ("", "/"),
    ):
        answer = submit(office.url, "/door", who="dora", password=PASSWORD, onward=onward)
        assert (answer.status_code, answer.headers["location"]) == (303, goes)


def test_a_sign_in_form_of_another_site_is_refused(office: Office) -> None:
    """Nobody is signed in as somebody else without knowing it."""
    said = {"Origin": "https://elsewhere.example", "Sec-Fetch-Site": "cross-site"}
    answer = httpx.post(f"{office.url}/door", data={"who": "ines", "password": PASSWORD}, headers=said)
    assert answer.status_code == 403
    assert "set-cookie" not in answer.headers


def test_too_many_wrong_passwords_are_told_to_wait(office: Office) -> None:
    """Unknown names too, by the same words and the same status."""
    for who in ("ines", "nobody"):
        answers = [submit(office.url, "/door", who=who, password="wrong") for _ in range(PER_ACCOUNT + 1)]
        assert [one.status_code for one in answers] == [403] * PER_ACCOUNT + [429]
        assert len({one.text for one in answers[:-1]}) == 1
        assert "wait a quarter of an hour" in answers[-1].text


def test_a_session_that_is_ended_elsewhere_is_out_at_once(office: Office) -> None:
    """By its owner on another machine, and by a supervisor; what was ended is out at the next click."""
    link = invited(office, "dora", "Dora Diver", "crew")
    submit(office.url, link, password=PASSWORD, again=PASSWORD)
    phone, laptop, boat = (enter(office, "dora") for _ in range(3))
    form = next(one for one in phone.forms("/account", "/sessions/") if one.action.endswith("others/ended"))
    assert phone.send(form).status_code == 303
    assert [one.get("/").status_code for one in (phone, laptop, boat)] == [200, 403, 403]
    (end,) = office.ines.forms("/people/dora", "/sessions/")
    assert office.ines.send(end).headers["location"] == "/people/dora"
    assert phone.get("/").status_code == 403


def test_a_password_is_changed_on_ones_own_page(office: Office) -> None:
    """The old one is asked for; who came by a link sets one without."""
    form = office.ines.forms("/account", "/account/password")[0]
    assert office.ines.send(form, password=PASSWORD, again=PASSWORD).status_code == 303
    wrong = office.ines.send(form, old="wrong", password="five words that are other", again="five words that are other")
    assert (wrong.status_code, "old password is not right" in wrong.text) == (422, True)
    right = office.ines.send(form, old=PASSWORD, password="five words that are other", again="five words that are other")
    assert right.status_code == 303
    enter(office, "ines", "five words that are other")


def test_the_last_supervisor_is_told_why_they_cannot_go(office: Office) -> None:
    """Closing one's own account is refused while nobody else can rule."""
    office.ines.send(office.ines.forms("/account", "/account/password")[0], password=PASSWORD, again=PASSWORD)
    form = office.ines.forms("/people/ines", "/active")[0]
    answer = office.ines.send(form)
    assert answer.status_code == 409
    assert "last supervisor" in answer.text
    assert office.ines.get("/").status_code == 200


def test_a_closed_account_is_out_and_comes_back(office: Office) -> None:
    """At once; opened again, the old password fits."""
    link = invited(office, "dora", "Dora Diver", "crew")
    submit(office.url, link, password=PASSWORD, again=PASSWORD)
    dora = enter(office, "dora")
    office.ines.send(office.ines.forms("/people/dora", "/active")[0])
    assert dora.get("/").status_code == 403
    assert submit(office.url, "/door", who="dora", password=PASSWORD).status_code == 403
    assert office.ines.forms("/people/dora", "/link") == []
    office.ines.send(office.ines.forms("/people/dora", "/active")[0])
    enter(office, "dora")


def test_a_reader_is_offered_no_form_but_their_own(office: Office) -> None:
    """Only signing out, their password and their sessions."""
    rita = Visitor(office.url, office.store, "rita", "reader")
    for path in ("/", f"/surveys/{NOW}", f"/surveys/{NOW}/questions", f"/surveys/{NOW}/questions/fragment/T1-001/status",
                 "/fragments/T1-001", "/tablets", "/discrepancies", "/set-aside"):  # fmt: skip
        changing = [form.action for form in rita.forms(path, "/") if "token" in dict(form.hidden)]
        assert changing == ["/leave"], path
    assert "lost" in rita.see(f"/surveys/{NOW}/questions")
    assert 'href="/people"' not in rita.see("/")


def test_crew_writes_a_note_that_the_history_shows(office: Office) -> None:
    """It is by their person id, in the survey that they chose; an empty one is refused."""
    ana = Visitor(office.url, office.store, "ana", "crew")
    form = ana.forms("/fragments/T1-001", "/notes")[0]
    assert ana.send(form, text=" tie looked new on the photo ", survey=NOW).status_code == 303
    assert "“tie looked new on the photo” Ana Crew" in texts(ana.see("/fragments/T1-001"))
    assert ana.send(form, text="  ", survey=NOW).status_code == 404
    assert ana.send(form, text="x", survey="2031-01").status_code == 404
    assert "Write a note" not in Visitor(office.url, office.store, "rita", "reader").see("/fragments/T1-001")


def test_tablets_show_what_they_hold_back_and_whose_clock_is_wrong(office: Office) -> None:
    """More than two minutes off is said in words and marked; two minutes are not."""
    grey, orange = sorted(list_tablets(office.store), key=lambda one: one.name)
    note_contact(office.store, grey.writer, -412, "crosstree 0.1.0", 27)
    note_contact(office.store, orange.writer, 120, "crosstree 0.1.0", 0)
    page = office.ines.see("/tablets")
    cards = {name: page.split(f'id="{one.writer}"')[1].split("</li>")[0] for name, one in (("grey", grey), ("orange", orange))}
    read = texts(cards["grey"])
    for said in ("just now", "31 entries", "27 when last heard of", "clock 7 minutes slow set it right", "crosstree 0.1.0"):
        assert said in re.sub(r"entries here (\d+)", r"\1 entries", read), (said, read)
    assert cards["grey"].count('class="due"') == 2
    assert 'class="due"' not in cards["orange"]


def test_a_code_is_shown_once_and_lets_one_tablet_in(office: Office) -> None:
    """As a picture and as letters; the trail says who made it and what came of it."""
    form = office.ines.forms("/tablets", "/tablets/codes")[0]
    answer = office.ines.send(form)
    found = re.search(r"\b([0-9A-Z]{5}-[0-9A-Z]{5})\b", answer.text)
    assert found is not None
    assert "<svg" in answer.text
    assert answer.headers["cache-control"] == "no-store"
    assert found[1] not in office.ines.see("/tablets")
    ask = {"protocol": 1, "code": found[1], "name": "Deck"}
    assert httpx.post(f"{office.url}/api/enrol", json=ask).status_code == 200
    assert "Deck" in office.ines.see("/tablets")
    read = texts(office.ines.see("/trail"))
    assert "Deck tablet enrolled" in read
    assert "Inés Office code for a tablet made" in read


def test_a_withdrawn_tablet_is_refused_until_it_is_let_in_again(office: Office) -> None:
    """A reason is asked for and shown; the undo gives the same tablet its leave back."""
    made = enrol(office.store, new_code(office.store)[0], "Deck")
    form = next(one for one in office.ines.forms("/tablets", "/withdrawn") if made.writer in one.action)
    assert office.ines.send(form, reason="  ").status_code == 422
    assert who_holds(office.store, made.token) == made.writer
    assert office.ines.send(form, reason="lost <overboard>").status_code == 303
    with pytest.raises(NotAllowed):
        who_holds(office.store, made.token)
    page = office.ines.see("/tablets")
    assert "lost &lt;overboard&gt;" in page
    (undo,) = office.ines.forms("/tablets", "/let-in")
    assert office.ines.send(undo).status_code == 303
    assert who_holds(office.store, made.token) == made.writer
    assert office.ines.send(Form("/tablets/zzzzzz/let-in", undo.hidden)).status_code == 404


def test_a_link_that_is_followed_again_leads_to_the_pages_where_somebody_is_in(office: Office) -> None:
    """Whoever clicks the old link once more sees the pages; without the cookie it is refused."""
    link = link_for(office.store, "ines")
    first = httpx.get(office.url + link)
    assert httpx.get(office.url + link, cookies=dict(first.cookies)).headers["location"] == "/"
    assert httpx.get(office.url + link).status_code == 403
