"""A browser without scripts: it follows links and sends the forms that a page shows."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from html import unescape
from html.parser import HTMLParser

import httpx

from server.pages import make_office_key
from server.store.record import RecordStore

__all__ = ["Form", "Visitor", "texts"]

Fields = list[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Form:
    """A form of a page: where it goes, and what it sends without anybody choosing anything."""

    action: str
    hidden: Fields


class _Forms(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.forms: list[Form] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        fields = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.forms.append(Form(fields["action"], []))
        elif tag == "input" and fields.get("type") == "hidden":
            self.forms[-1].hidden.append((fields["name"], fields["value"]))


class Visitor:
    """Somebody at the office, let in with a key of their own."""

    def __init__(self, url: str, store: RecordStore, person: str = "ines") -> None:
        self.url = url
        self.key = make_office_key(store.engine, store.nursery, person)
        self.cookies = dict(httpx.get(f"{url}/door/{self.key}").raise_for_status().cookies)

    def get(self, path: str) -> httpx.Response:
        """What the server answers."""
        return httpx.get(self.url + path, cookies=self.cookies)

    def see(self, path: str) -> str:
        """A page's HTML."""
        answer = self.get(path)
        assert answer.status_code == 200, answer.text
        return answer.text

    def forms(self, path: str, action: str) -> list[Form]:
        """The forms of a page that go to an address which contains `action`."""
        reader = _Forms()
        reader.feed(self.see(path))
        return [form for form in reader.forms if action in form.action]

    def post(self, action: str, body: Mapping[str, str | list[str]], headers: dict[str, str]) -> httpx.Response:
        """Send fields with these headers and no others about where they are from."""
        return httpx.post(self.url + action, data=body, headers=headers, cookies=self.cookies)

    def send(self, form: Form, headers: dict[str, str] | None = None, **chosen: str) -> httpx.Response:
        """Send a form as a browser does; what it leads to is not followed."""
        body: dict[str, list[str]] = {}
        for name, value in [*form.hidden, *chosen.items()]:
            body.setdefault(name, []).append(value)
        said = {"Origin": self.url, "Sec-Fetch-Site": "same-origin"} | (headers or {})
        return self.post(form.action, body, said)


def texts(html: str) -> str:
    """What a reader reads: without tags, blanks as one."""
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", html)))
