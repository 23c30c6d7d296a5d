"""What roles, deeds and browsers are called on the pages about people and tablets."""

from collections.abc import Mapping
from typing import Final

from server.access.roles import Role
from server.access.trail import Deed
from server.pages.wording import gettext, mark

__all__ = ["DEED_WORDS", "ROLE_MEANS", "ROLE_WORDS", "browser_words", "detail_words", "sentence"]

ROLE_WORDS: Final[Mapping[Role, str]] = {
    "reader": mark("reader"),
    "crew": mark("crew"),
    "supervisor": mark("supervisor"),
}
ROLE_MEANS: Final[Mapping[Role, str]] = {
    "reader": mark("sees the pages"),
    "crew": mark("sees the pages, writes notes"),
    "supervisor": mark("rules, lets people and tablets in"),
}
DEED_WORDS: Final[Mapping[Deed, str]] = {
    "signed_in": mark("signed in"),
    "sign_in_refused": mark("sign-in refused"),
    "signed_out": mark("signed out"),
    "session_ended": mark("session ended"),
    "invited": mark("account made"),
    "first_made": mark("first supervisor made"),
    "password_link_made": mark("link to set a password made"),
    "sign_in_link_made": mark("link to sign in made"),
    "password_set": mark("password set by a link"),
    "password_changed": mark("password changed"),
    "role_changed": mark("role changed"),
    "closed": mark("account closed"),
    "opened_again": mark("account opened again"),
    "code_made": mark("code for a tablet made"),
    "tablet_enrolled": mark("tablet enrolled"),
    "tablet_withdrawn": mark("tablet withdrawn"),
    "tablet_let_in": mark("tablet let in again"),
}

_BROWSERS: Final = (("Edg/", "Edge"), ("OPR/", "Opera"), ("Firefox/", "Firefox"), ("Chrome/", "Chrome"), ("Safari/", "Safari"))
_SYSTEMS: Final = (
    ("iPhone", "iPhone"),
    ("iPad", "iPad"),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("Mac OS X", "macOS"),
    ("Linux", "Linux"),
)


def browser_words(said: str) -> str:
    """What a browser says it is, in two words where it is a usual one."""
    browser = next((word for sign, word in _BROWSERS if sign in said), "")
    system = next((word for sign, word in _SYSTEMS if sign in said), "")
    if browser and system:
        return gettext("%(browser)s on %(system)s") % {"browser": browser, "system": system}
    return browser or said[:60] or gettext("a browser that does not say what it is")


def detail_words(deed: str, detail: str) -> str:
    """What the trail says besides of a deed; what somebody typed as it is."""
    if deed == "signed_in":
        return gettext("by a link") if detail == "link" else detail
    if deed in ("invited", "role_changed"):
        return " → ".join(gettext(word) for word in detail.split(" → "))
    return detail


def sentence(message: str) -> str:
    """A message that stands by itself on a page: it begins with a capital letter."""
    return message[:1].upper() + message[1:]
