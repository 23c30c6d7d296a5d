"""Every text of the pages goes through here, in the language of whoever reads. Outside of a request that is English.

English is written in the code; other languages are gettext catalogues (.ci/catalogues.py). What stays the same for as long
as the program runs is marked where it stands and translated where it is shown.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Final

from server.pages.languages import ENGLISH, Language
from shared_schema.sayings import mark

__all__ = ["gettext", "language", "mark", "mark_in", "ngettext", "pgettext", "prefer", "spoken"]


class _Reader:
    """Whoever reads the answer to this request. One object for all threads that work at it."""

    def __init__(self, language: Language) -> None:
        self.language = language


_READER: Final[ContextVar[_Reader]] = ContextVar("reader")


@contextmanager
def spoken(language: Language) -> Iterator[None]:
    """Within this, people read that language, unless it turns out that they prefer another."""
    token = _READER.set(_Reader(language))
    try:
        yield
    finally:
        _READER.reset(token)


def prefer(language: Language) -> None:
    """Whoever reads this answer prefers another language."""
    reader = _READER.get(None)
    if reader is not None:
        reader.language = language


def language() -> Language:
    """The language of whoever reads."""
    reader = _READER.get(None)
    return ENGLISH if reader is None else reader.language


def gettext(message: str) -> str:
    """A message in the reader's language."""
    return language().words.gettext(message)


def ngettext(one: str, many: str, number: int) -> str:
    """A message that depends on a number, in the reader's language."""
    return language().words.ngettext(one, many, number)


def pgettext(context: str, message: str) -> str:
    """A message that is too short to be translated without its context."""
    return language().words.pgettext(context, message)


def mark_in(_context: str, message: str) -> str:
    """`mark` for a message that needs its context."""
    return message
