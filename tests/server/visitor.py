"""A browser without scripts: it follows links and sends the forms that a page shows."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from html import unescape
from html.parser import HTMLParser

import httpx

from server.access.accounts import list_accounts, make_account
from server.access.links import make_link
from server.access.roles import Role
from server.access.trail import COMMAND_LINE
from server.store.record import RecordStore

__all__ = ["Form", "Visitor", "link_for", "texts"]

Fields = list[tuple[str, str]]
PATIENCE_S = 60
"""Of a test, which may have to share the machine; nobody waits so long at a desk."""


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


def link_for(store: RecordStore, person: str = "ines", role: Role = "supervisor") -> str:
    """The path of a link that signs somebody in once; they get an account where they have none."""
    if all(one.person != person for one in list_accounts(store)):
        name = store.standing(f"person:{person}").value("name") or person
        make_account(store, person, name, role, COMMAND_LINE)
    return f"/door/{make_link(store, person, 'sign_in', COMMAND_LINE)}"


class Visitor:
    """Somebody who signed in at the office, with a session of their own."""

    def __init__(self, url: str, store: RecordStore, person: str = "ines", role: Role = "supervisor") -> None:
        self.url = url
        self.cookies = dict(httpx.get(url + link_for(store, person, role), timeout=PATIENCE_S).raise_for_status().cookies)

    def get(self, path: str) -> httpx.Response:
        """What the server answers."""
        return httpx.get(self.url + path, cookies=self.cookies, timeout=PATIENCE_S)

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
        return httpx.post(self.url + action, data=body, headers=headers, cookies=self.cookies, timeout=PATIENCE_S)

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
