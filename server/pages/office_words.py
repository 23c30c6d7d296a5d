"""What roles, deeds, browsers and moments are called on the pages about people and tablets."""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Final

from server.access.roles import Role
from server.access.trail import Deed
from server.pages.wording import gettext, mark, ngettext

__all__ = ["DEED_WORDS", "ROLE_MEANS", "ROLE_WORDS", "ago_words", "browser_words", "moment_words", "sentence"]

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


def moment_words(ms: int) -> str:
    """A moment, milliseconds since 1970, as 2026-11-14 13:05 (UTC)."""
    return datetime.fromtimestamp(ms / 1000, UTC).strftime("%Y-%m-%d %H:%M")


def ago_words(ms: int, now: datetime) -> str:
    """How long ago a moment was."""
    minutes = max(0, int(now.timestamp() - ms / 1000) // 60)
    if minutes < 2:
        return gettext("just now")
    if minutes < 120:
        return gettext("%(n)s minutes ago") % {"n": minutes}
    if minutes < 48 * 60:
        return gettext("%(n)s hours ago") % {"n": minutes // 60}
    return ngettext("%(n)s day ago", "%(n)s days ago", minutes // 1440) % {"n": minutes // 1440}


def sentence(message: str) -> str:
    """A message that stands by itself on a page: it begins with a capital letter."""
    return message[:1].upper() + message[1:]
