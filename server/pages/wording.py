"""Every text of the pages goes through here. English is written in the code; other languages come as gettext catalogues."""

from gettext import NullTranslations
from typing import Final

__all__ = ["gettext", "mark", "ngettext", "pgettext"]

_CATALOGUE: Final = NullTranslations()


def gettext(message: str) -> str:
    """A message in the reader's language."""
    return _CATALOGUE.gettext(message)


def ngettext(one: str, many: str, number: int) -> str:
    """A message that depends on a number, in the reader's language."""
    return _CATALOGUE.ngettext(one, many, number)


def pgettext(context: str, message: str) -> str:
    """A message that is too short to be translated without its context."""
    return _CATALOGUE.pgettext(context, message)


def mark(message: str) -> str:
    """A message to collect for translation here and to translate where it is shown."""
    return message
