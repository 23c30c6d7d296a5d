"""Why nothing can be made of an entry, in the reader's language.

What the record keeps of it is one English sentence, written when the entry came. The line itself is kept as well, so that
what is wrong with it can be found again, and said.
"""

from collections.abc import Mapping
from typing import Any, Final

from pydantic import ValidationError
from pydantic_core import from_json

from server.pages.wording import gettext, mark
from server.pages.words import REASON_WORDS
from shared_schema.entries import read_entry
from shared_schema.envelope import VERSION
from shared_schema.errors import EntryNotUnderstood, SchemaError

__all__ = ["aside_words", "misread_words"]

_ABSENT: Final = mark("“%(field)s” is missing.")
_EXTRA: Final = mark("“%(field)s” is nothing that an entry of its kind says.")
_NO_VALUE: Final = mark("“%(field)s” is “%(found)s”, which is none of the values that there are.")
_BEYOND: Final = mark("“%(field)s” is “%(found)s”, which is less or more than can be.")
_NO_OFFSET: Final = mark("“%(field)s” is “%(found)s”, without its offset from UTC.")
_ILL_WRITTEN: Final = mark("“%(field)s” is “%(found)s”, which is not written as it should be.")
_FAULTS: Final[Mapping[str, str]] = {
    "missing": _ABSENT,
    "extra_forbidden": _EXTRA,
    "literal_error": _NO_VALUE,
    **dict.fromkeys(("greater_than", "greater_than_equal", "less_than", "less_than_equal", "finite_number"), _BEYOND),
    "timezone_aware": _NO_OFFSET,
}
"""What pydantic or a kind of entry calls a fault -> how it is said; what is not here is ill written."""
_AS_A_WHOLE: Final[Mapping[str, str]] = {
    "subject_does_not_fit": mark("“%(subject)s” is nothing that an entry of its kind is about."),
    "states_nothing": mark("It states nothing."),
    "cannot_be_ruled_on": mark("“%(fact)s” is nothing that a ruling can settle."),
    "value_does_not_fit": mark("“%(fact)s” cannot be “%(value)s”."),
    "binary_float": mark("“%(value)s” is a number that is not written exactly."),
}
"""The same for what is wrong between fields, or inside of one."""
LONGEST: Final = 80
"""Characters shown of what was found."""


def aside_words(set_aside: str) -> str:
    """The reason alone, of what the record keeps of it."""
    reason = set_aside.partition(":")[0]
    return gettext(REASON_WORDS[reason]) if reason in REASON_WORDS else reason


def misread_words(reason: str, raw: str) -> str:
    """What is wrong with a line; empty where that is not known any more, as when this program is newer than its record."""
    body = _body(raw)
    if reason == "unknown":
        return gettext("Its kind is “%(kind)s”.") % {"kind": _short(body.get("kind"))}
    if reason == "newer":
        return gettext("It is of version %(version)s, and this program knows %(known)s.") % {
            "version": _short(body.get("v")),
            "known": VERSION,
        }
    return _damage(raw) if reason in ("damaged", "not_allowed") else ""


def _body(raw: str) -> dict[str, Any]:
    try:
        body = from_json(raw)
    except ValueError:
        return {}
    return body if isinstance(body, dict) else {}


def _damage(raw: str) -> str:
    try:
        read_entry(raw)
    except SchemaError as error:
        cause = error.__cause__
        if isinstance(error, EntryNotUnderstood) and error.reason == "not_allowed":
            return gettext("“%(writer)s” is a tablet.") % {"writer": _short(_body(raw).get("id")).rpartition("-")[0]}
        if isinstance(cause, ValidationError):
            return _fault(cause)
    return ""


def _fault(error: ValidationError) -> str:
    first = error.errors(include_url=False)[0]
    as_a_whole = _AS_A_WHOLE.get(first["type"])
    if as_a_whole is not None:
        return gettext(as_a_whole) % {name: _short(value) for name, value in first.get("ctx", {}).items()}
    field = ".".join(str(part) for part in first["loc"][1:])  # its first part is the kind
    if not field:
        return gettext("Its parts do not fit each other.")
    said = gettext(_FAULTS.get(first["type"], _ILL_WRITTEN))
    return said % {"field": field[:LONGEST], "found": _short(first.get("input"))}


def _short(found: Any) -> str:
    return str(found)[:LONGEST]
