"""The office in the language of whoever reads: as the account says, else as chosen at the door, else as the browser asks."""

import json
import re
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from gettext import NullTranslations
from typing import Any

import httpx
import pytest
from fastapi import FastAPI

from server.access.accounts import choose_language as choose_account_language
from server.access.roles import ROUTES
from server.pages.languages import ENGLISH, choose_language, read_languages
from server.pages.speaking import LANGUAGE_COOKIE
from server.store.opening import nursery_of
from server.store.record import RecordStore
from server.store.tablets import list_tablets
from shared_schema.designs import Line, design_fields
from shared_schema.entries import FragmentOutplanted, FragmentPlanted, PageSignedOff, StructureHung, SurveyPlanned
from tests.server.conftest import Nursery
from tests.server.office_pages import NO_PAGES, PAGES, addresses, names_of
from tests.server.running import running
from tests.server.small_nursery import NOW, Boat, fill
from tests.server.visitor import Visitor, link_for, texts

pytestmark = pytest.mark.usefixtures("compiled_words")

Office = tuple[str, FastAPI, RecordStore]


@pytest.fixture
def office(lite: Nursery) -> Iterator[Office]:
    """The small nursery's server."""
    settings, store = lite
    fill(store)
    with running(settings) as (url, app):
        yield url, app, store


def door(url: str, accept: str = "", cookies: dict[str, str] | None = None, path: str = "/door") -> httpx.Response:
    """The door as a browser of some language sees it."""
    return httpx.get(url + path, headers={"Accept-Language": accept}, cookies=cookies)


def lang(answer: httpx.Response) -> str:
    """The language that a page says it is in; the header says the same."""
    found = re.search(r'<html lang="([^"]+)">', answer.text)
    assert found is not None
    assert answer.headers["content-language"] == found[1]
    return found[1]


@pytest.mark.parametrize(
    ("accept", "code"),
    [
        ("", "en"),
        ("es", "es"),
        ("es-DO,es;q=0.9,en;q=0.8", "es"),
        ("en-GB,en;q=0.9,es;q=0.8", "en"),
        ("tlh, es;q=0.3", "es"),
        ("es;q=0, en;q=0.1", "en"),
        ("*", "en"),
        (";;q=x,,", "en"),
    ],
)
def test_the_door_speaks_what_the_browser_asks_for(accept: str, code: str) -> None:
    """By the weights that it gives, a country's Spanish too; English where nothing fits."""
    assert choose_language(read_languages(), accept).code == code


def test_at_the_door_the_language_is_chosen_in_sight_and_kept(office: Office) -> None:
    """The switch names each language in itself; what was chosen holds before and after signing in."""
    url, _, store = office
    first = door(url, "en")
    assert (lang(first), "Sign in" in first.text, ">Español</a>" in first.text) == ("en", True, True)
    address = re.search(r'href="([^"]+)" lang="es"', first.text)
    assert address is not None
    chosen = door(url, "en", path=address[1])
    assert (lang(chosen), "Entrar" in chosen.text) == ("es", True)
    kept = dict(chosen.cookies)
    assert lang(door(url, "en", kept)) == "es"
    inside = httpx.get(url + link_for(store), cookies=kept)
    assert lang(httpx.get(url, cookies=kept | dict(inside.cookies))) == "es"


def test_switching_at_the_door_loses_no_way(office: Office) -> None:
    """Who was asked to sign in for a page, and switches, still comes to that page; addresses elsewhere do not get in."""
    url, _, _ = office
    asked = door(url, "en", path=f"/surveys/{NOW}")
    address = re.search(r'href="([^"]+)" lang="es"', asked.text)
    assert address is not None
    assert f'name="onward" value="/surveys/{NOW}"' in door(url, path=address[1].replace("&amp;", "&")).text
    assert 'name="onward" value="/"' in door(url, path="/door?language=es&onward=https://example.org/").text


def test_a_language_that_is_not_spoken_changes_nothing(office: Office) -> None:
    """Neither in an address nor in a cookie."""
    url, _, _ = office
    asked = door(url, "es", {"crosstree_language": "../x"}, "/door?language=tlh")
    assert (lang(asked), "set-cookie" in asked.headers) == ("es", False)


def test_an_account_keeps_its_language_wherever_it_signs_in(office: Office) -> None:
    """Chosen on one's own page; another browser that asks for English follows, and everybody else stays."""
    url, _, store = office
    here = Visitor(url, store)
    (form,) = here.forms("/account", "/account/language")
    assert here.send(form, language="es").status_code == 303
    elsewhere = Visitor(url, store)
    page = elsewhere.get("/")
    assert (lang(page), "Censos" in page.text) == ("es", True)
    assert lang(Visitor(url, store, "ana", "crew").get("/")) == "en"
    assert here.send(form, language="").status_code == 303
    assert lang(elsewhere.get("/")) == "en"
    refused = here.send(form, language="tlh")
    assert (refused.status_code, "tlh" in refused.text) == (404, True)


def test_days_moments_and_numbers_are_written_as_the_language_does(office: Office) -> None:
    """And the time of the site says that it is that."""
    url, _, store = office
    visitor = Visitor(url, store)
    question = f"/surveys/{NOW}/questions/fragment/T1-006/status"
    assert "observed 14 Nov 2026, 09:40" in texts(visitor.see(question))
    (form,) = visitor.forms("/account", "/account/language")
    visitor.send(form, language="es")
    read = texts(visitor.see(question))
    for said in ("hora del sitio UTC−4", "observado 14 nov 2026, 09:40", "reloj atrasado 7 minutos", "enfermo", "banda"):
        assert said in read, said


@pytest.mark.parametrize(
    ("code", "signed", "chosen", "found"),
    [
        ("en", ("1 of 1 page signed", "2 of 2 pages signed"), ("1 of 1 chosen", "2 of 2 chosen"), "1 sick"),
        ("es", ("1 de 1 página firmada", "2 de 2 páginas firmadas"), ("1 de 1 elegida", "2 de 2 elegidas"), "2 muertos"),
        ("fr", ("1 sur 1 page signée", "2 sur 2 pages signées"), ("1 sur 1 choisie", "2 sur 2 choisies"), "2 morts"),
        ("pt-BR", ("1 de 1 página assinada", "2 de 2 páginas assinadas"), ("1 de 1 escolhida", "2 de 2 escolhidas"), "2 mortos"),
        ("id", ("1 dari 1 halaman disahkan", "2 dari 2 halaman disahkan"), ("1 dari 1 dipilih", "2 dari 2 dipilih"), "2 mati"),
    ],
)
def test_words_agree_with_the_number_beside_them(
    lite: Nursery, code: str, signed: tuple[str, str], chosen: tuple[str, str], found: str
) -> None:
    """A line of one page by itself, and two lines of which one has two pages: signed, planned and counted."""
    settings, store = lite
    boat = Boat(store, "Orange", "ana")
    with store.office("ines") as office:
        for name, pages, location in (("L1", 1, "row"), ("L2", 2, "bar"), ("L3", 1, "bar")):
            line = Line(unit="m", length=Decimal(pages), spacing=Decimal(1), per_stretch=2)
            office.write(StructureHung, f"structure:{name}", design=design_fields(line), location=location)
        days = {"opens": "2026-11-14", "closes": "2026-11-14"}
        office.write(SurveyPlanned, f"survey:{NOW}", name="Lines", structures=("L1", "L2", "L3"), **days)
    for page in ("L1/1", "L2/1", "L2/2"):
        boat.author.write(PageSignedOff, f"page:{page}", NOW, alive=0, marked=1, unseen=0)
    for place, status in (("L1/1.1", "dead"), ("L2/1.1", "dead"), ("L2/2.1", "sick")):
        boat.saw(place.replace("/", "-"), place, status)
    boat.back()
    with running(settings) as (url, _):
        ines = Visitor(url, store)
        choose_account_language(store, "ines", code)
        covered, planned = (texts(ines.see(f"/surveys/{NOW}/{page}")) for page in ("coverage?whole=true", "plan"))
        assert [said in covered for said in signed] == [True, True]
        assert [said in planned for said in chosen] == [True, True]
        assert found in texts(ines.see(f"/surveys/{NOW}"))


def test_what_goes_wrong_is_said_in_the_readers_language(office: Office) -> None:
    """With its values; also what the record itself refuses."""
    url, _, store = office
    visitor = Visitor(url, store)
    (form,) = visitor.forms("/account", "/account/language")
    visitor.send(form, language="es")
    answer = visitor.get("/fragments/T9-999")
    assert answer.status_code == 404
    assert "No hay un fragmento 'T9-999' en el registro: mire otra vez su etiqueta" in texts(answer.text)


def test_what_tablets_get_stays_english(office: Office) -> None:
    """Problems of the exchange are for programs and logs."""
    url, _, _ = office
    answer = httpx.post(f"{url}/api/exchange", headers={"Accept-Language": "es"})
    assert answer.status_code == 401
    assert "content-language" not in answer.headers


def test_news_of_an_open_page_come_in_its_language(office: Office) -> None:
    """What the stream says while the page is open, too."""
    url, _, store = office
    visitor = Visitor(url, store)
    visitor.cookies[LANGUAGE_COOKIE] = "es"
    with httpx.stream("GET", f"{url}/live?since=1", cookies=visitor.cookies, timeout=20) as answer:
        line = next(line for line in answer.iter_lines() if line.startswith("data: "))
    assert "entradas nuevas" in json.loads(line.removeprefix("data: "))


class Marked(NullTranslations):
    """A language in which everything that goes through the catalogues stands in brackets."""

    def gettext(self, message: str) -> str:
        """In brackets."""
        return f"⟦{message}⟧"

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        """In brackets."""
        return f"⟦{msgid1 if n == 1 else msgid2}⟧"

    def pgettext(self, context: str, message: str) -> str:
        """In brackets."""
        del context
        return f"⟦{message}⟧"


OUTSIDE = {"crosstree", "utc", "mm", "cm", "ok", "html", "python", "httpx"}
"""A name, units, and what a browser says it is."""


def known_words(store: RecordStore) -> set[str]:
    """All words of the record itself: names, notes and what stands in entries; and the months of days."""
    lines, _ = store.lines_after({}, 100_000)
    months = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec"
    lasting = [nursery_of(store).name, *(one.name for one in list_tablets(store)), *(one.name for one in read_languages().values())]
    said = " ".join([*(line.decode() for line in lines), *lasting, months])
    return {word.casefold() for word in re.findall(r"[^\W\d_]+", said)}


def unmarked(html: str) -> str:
    """What a reader reads outside of brackets, and what is read aloud."""
    # What stands in code is typed into a terminal, or a line of the record itself.
    body = re.sub(r"<(script|style|code|pre)\b.*?</\1>", " ", html, flags=re.DOTALL)
    aloud = " ".join(re.findall(r'(?:aria-label|title|placeholder|alt)="([^"]*)"', body))
    text = texts(body) + " " + aloud
    while "⟦" in text:
        shorter = re.sub(r"⟦[^⟦⟧]*⟧", " ", text)
        if shorter == text:
            break
        text = shorter
    return text


def test_every_route_of_a_page_has_an_address_to_look_at() -> None:
    """A page that is new is looked at, in brackets here and in pictures, or is said to be none."""
    assert {route for route in ROUTES if route.startswith("GET ")} == set(PAGES) | NO_PAGES


def make_odd(store: RecordStore) -> None:
    """Somebody brought a coral to the reef, and hung another where one hangs."""
    with store.office("ines") as office:
        office.write(FragmentOutplanted, "fragment:L1-001", NOW, place="site:Far-reef")
        office.write(FragmentPlanted, "fragment:T1-900", NOW, place="T1/3.3.3", genet="G1")


def test_no_page_says_a_word_that_is_in_no_catalogue(office: Office) -> None:
    """Every page in a language of brackets: what stands outside of them is of the record."""
    url, app, store = office
    app.state.languages = {"marked": replace(ENGLISH, code="marked", words=Marked())}
    make_odd(store)
    Visitor(url, store)
    names = names_of(store, "ines")
    known = known_words(store) | OUTSIDE
    visitor = Visitor(url, store)
    visitor.cookies[LANGUAGE_COOKIE] = "marked"
    found: dict[str, Any] = {}
    for called, path in {**addresses(names), "wrong": "/fragments/none-such"}.items():
        cookies = {LANGUAGE_COOKIE: "marked"} if called == "door" else visitor.cookies
        answer = httpx.get(url + path, cookies=cookies, follow_redirects=True)
        assert answer.status_code == 200 or called == "wrong", path
        words = {word for word in re.findall(r"[^\W\d_]{3,}", unmarked(answer.text)) if word.casefold() not in known}
        if words:
            found[called] = words
    assert found == {}
