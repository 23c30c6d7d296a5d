"""What other parts of the program say, in the reader's language: the sentences of errors and of the rules across slots."""

from collections.abc import Callable, Mapping
from typing import Any, Final

from server.pages.conditions import look_of
from server.pages.figures import list_words
from server.pages.values import fact_words
from server.pages.wording import gettext, mark
from server.review.bulk import RULES
from shared_schema.errors import CrosstreeError
from shared_schema.ready_words import READY
from shared_schema.sayings import Saying

__all__ = ["as_noted", "in_words"]

_READY: Final = (*READY, *(rule.says for rule in RULES.values()))
_NO_SURVEY: Final = frozenset({mark("standing facts"), mark("the first record")})
_SHOWN: Final[Mapping[str, Callable[[str], str]]] = {
    "status": lambda status: look_of(status).word,
    "fact": fact_words,
    **dict.fromkeys(("before", "survey"), lambda survey: gettext(survey) if survey in _NO_SURVEY else survey),
}
"""Places whose values have words of their own, by name."""


def in_words(said: CrosstreeError | Saying) -> str:
    """A sentence of the program, with its values."""
    values: Mapping[str, Any] = dict(said.values)
    if not said.message:
        return ""
    text = gettext(said.message)
    return text % {name: _shown(name, value) for name, value in values.items()} if values else text


def as_noted(text: str) -> str:
    """What somebody noted, as it was typed; what was ready to be tapped, and what a rule says, in the reader's language."""
    for said in _READY:
        if text == said or text.startswith(f"{said} ("):
            return gettext(said) + text[len(said) :]
    return text


def _shown(name: str, value: Any) -> Any:
    if isinstance(value, tuple | list):
        return list_words(tuple(map(str, value)))
    return _SHOWN[name](value) if name in _SHOWN else value
