"""Pages travel compressed, whatever does not gain by it does not, and no page shows a secret that its length could betray."""

import hashlib
import re
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from server.pages.door import COOKIE, token_for
from server.store.photos import PhotoStore
from server.store.record import RecordStore
from tests.server.conftest import Nursery
from tests.server.running import new_nursery, running
from tests.server.small_nursery import NOW, fill
from tests.server.visitor import Visitor

Office = tuple[RecordStore, Visitor, str]


@pytest.fixture(scope="module")
def office(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Office]:
    """The small nursery with one photo, a supervisor who signed in, and the photo's address."""
    made: Nursery
    with new_nursery(tmp_path_factory.mktemp("packed")) as made:
        settings, store = made
        fill(store)
        picture = (Path(__file__).parent.parent.parent / "server" / "static" / "icon.svg").read_bytes() * 20
        name = hashlib.sha256(picture).hexdigest()
        PhotoStore(store, settings.photos).add(name, 0, len(picture), picture)
        with running(settings) as (url, _):
            yield store, Visitor(url, store), f"/photos/{name}"


def packed(visitor: Visitor, path: str, takes: str = "gzip") -> httpx.Response:
    """The answer to a browser that can read these encodings."""
    return httpx.get(visitor.url + path, cookies=visitor.cookies, headers={"Accept-Encoding": takes}, timeout=60)


def test_pages_styles_scripts_and_drawings_are_compressed(office: Office) -> None:
    """And read the same as for a browser that cannot read compressed ones."""
    for path in (f"/surveys/{NOW}/structures/T1", "/static/office.css", "/static/office.js"):
        answer = packed(office[1], path)
        assert answer.headers["content-encoding"] == "gzip", path
        assert int(answer.headers["content-length"]) < len(answer.content) / 2, path
        assert "content-encoding" not in packed(office[1], path, "identity").headers, path
    css = "/static/office.css"
    assert packed(office[1], css).content == packed(office[1], css, "identity").content


def test_photos_and_news_go_out_as_they_are(office: Office) -> None:
    """A photo is compressed already; news must not wait until there is more of it to compress."""
    _, visitor, photo = office
    assert "content-encoding" not in packed(visitor, photo).headers
    headers = {"Accept-Encoding": "gzip"}
    with httpx.stream("GET", visitor.url + "/live", cookies=visitor.cookies, headers=headers, timeout=20) as answer:
        assert "content-encoding" not in answer.headers
        assert next(answer.iter_raw()).startswith(b"retry:")


def test_the_token_of_a_form_is_another_text_on_every_page(office: Office) -> None:
    """No part of it stands twice, and no page has the secret itself in it."""
    pages = [office[1].see("/account") for _ in range(3)]
    found = [set(re.findall(r'name="token" value="([0-9a-f]+)"', page)) for page in pages]
    shown = set().union(*found)
    assert len(shown) == 3
    assert all(len(one) == 1 for one in found)
    assert len({token[:64] for token in shown}) == len({token[64:] for token in shown}) == 3


def test_a_form_works_with_the_token_of_any_page_of_the_session_and_with_no_other(office: Office) -> None:
    """Two tabs, the way back, and a forger."""
    store, visitor, _ = office
    key = visitor.cookies[COOKIE]
    other = Visitor(visitor.url, store)
    origin = {"Origin": visitor.url, "Sec-Fetch-Site": "same-origin"}
    for token, status in (
        (token_for(key), 303),
        (token_for(key), 303),
        (token_for(other.cookies[COOKIE]), 403),
        (token_for(key)[:-1] + "x", 403),
        (token_for(key)[2:], 403),
        ("0" * 128, 403),
        ("", 403),
    ):
        answer = visitor.post("/sessions/others/ended", {"token": token}, origin)
        assert answer.status_code == status, token
