"""Values of facts for people: how they are written, and how a form asks for one."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal, get_args

from server.pages.conditions import LOOKS, look_of
from server.pages.wording import gettext, mark
from server.pages.words import FACT_WORDS, VALUE_WORDS
from shared_schema.errors import SchemaError
from shared_schema.facts import Overgrowth, Sign

__all__ = ["Asking", "asking_for", "fact_words", "value_from_form", "value_words"]

_MANY: Final[Mapping[str, tuple[str, ...]]] = {"signs": get_args(Sign), "overgrowth": get_args(Overgrowth)}
_LENGTHS: Final = frozenset({"length_mm", "width_mm", "height_mm", "tle_mm"})
_UNITS: Final = {
    "live_tissue": mark("%(number)s %%"),
    "depth_cm": mark("%(number)s cm"),
    **dict.fromkeys(sorted(_LENGTHS), mark("%(number)s mm")),
}
_NUMBERS: Final = {"live_tissue": "%", "depth_cm": "cm", "aphia_id": "", **dict.fromkeys(sorted(_LENGTHS), "mm")}
_FIXED: Final = frozenset({"design", "dive", "structures", "people"})


def fact_words(fact: str) -> str:
    """What a fact is called."""
    return gettext(FACT_WORDS.get(fact, fact))


def value_words(fact: str, value: Any) -> str:
    """A value as people write it."""
    if fact == "status":
        return look_of(value).word
    if fact in _UNITS:
        return gettext(_UNITS[fact]) % {"number": value}
    if fact in _MANY:
        return ", ".join(_word(fact, one) for one in value) or gettext("none")
    if isinstance(value, dict):
        return ", ".join(f"{key} {_plain(part)}" for key, part in value.items())
    return _word(fact, _plain(value))


def _word(fact: str, value: str) -> str:
    word = VALUE_WORDS.get(fact, {}).get(value)
    return value if word is None else gettext(word)


def _plain(value: Any) -> str:
    return ", ".join(map(str, value)) if isinstance(value, list | tuple) else str(value)


@dataclass(frozen=True, slots=True)
class Asking:
    """How a form asks for a value of a fact: a list to choose from, several of a list, a number, or a text.

    "fixed" is not asked for: such a value has many parts, and a ruling takes one that was stated.
    """

    form: Literal["one", "many", "number", "text", "fixed"]
    choices: Sequence[tuple[str, str]] = ()
    unit: str = ""
    most: int | None = None


def asking_for(fact: str) -> Asking:
    """How to ask for a value of a fact."""
    if fact in _FIXED:
        return Asking("fixed")
    if fact in _MANY:
        return Asking("many", [(one, _word(fact, one)) for one in _MANY[fact]])
    if fact in _NUMBERS:
        return Asking("number", unit=_NUMBERS[fact], most=100 if fact == "live_tissue" else None)
    if fact == "status":
        return Asking("one", [(look.key, f"{look.letter} – {look.word}") for look in LOOKS])
    if fact in VALUE_WORDS and fact != "place":
        return Asking("one", [(one, value_words(fact, one)) for one in VALUE_WORDS[fact]])
    return Asking("text")


def value_from_form(fact: str, texts: Sequence[str]) -> Any:
    """The value that a form gives; the fact itself checks it. Raises SchemaError where nothing was given."""
    given = [text.strip() for text in texts if text.strip()]
    if fact in _MANY:
        return given
    if fact in _FIXED:
        raise SchemaError("A value of this fact cannot be typed in: take one that was stated.")
    if not given:
        raise SchemaError("No new value was given: choose one, or take one of those that were stated.")
    if fact in _NUMBERS:
        if not given[0].isascii() or not given[0].isdigit():
            raise SchemaError("“%(text)s” is not a whole number: write digits only.", text=given[0])
        return int(given[0])
    return given[0]
