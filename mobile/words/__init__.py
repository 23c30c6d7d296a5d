"""The words on the screen, in the user's language: gettext catalogues beside this file, compiled when it is installed.

What the office says too stands in the catalogues of shared_schema/words, beneath these. Texts in the code are English and
are their own keys. Letters of conditions have the context "condition letter".
"""

import gettext
from pathlib import Path
from typing import Final, Protocol

from shared_schema.words import HERE as SHARED
from shared_schema.words import LANGUAGES

__all__ = ["HERE", "LANGUAGES", "Catalogue", "Words", "read_words"]

HERE: Final = Path(__file__).parent


class Catalogue(Protocol):
    """What is asked of a gettext catalogue."""

    def gettext(self, message: str) -> str:
        """The translation of a text."""
        ...

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        """The form of a text for a number."""
        ...

    def pgettext(self, context: str, message: str) -> str:
        """The translation of a text in a context."""
        ...


class Words:
    """One language's words."""

    def __init__(self, language: str, catalogue: Catalogue) -> None:
        self.language = language
        self._catalogue = catalogue

    def text(self, english: str) -> str:
        """A text."""
        return self._catalogue.gettext(english) if english else ""

    def count(self, one: str, several: str, number: int) -> str:
        """A text with a number in it: `count("{n} place", "{n} places", 3)`."""
        return self._catalogue.ngettext(one, several, number).format(n=number)

    def letter(self, english: str) -> str:
        """The letter of a condition, from its English one."""
        return self._catalogue.pgettext("condition letter", english) if english != "?" else english


def read_words(language: str) -> Words:
    """The words of a language. Where its catalogue was never compiled, English, so that a tablet always starts."""
    try:
        with (HERE / f"{language}.mo").open("rb") as own, (SHARED / f"{language}.mo").open("rb") as shared:
            catalogue = gettext.GNUTranslations(own)
            catalogue.add_fallback(gettext.GNUTranslations(shared))
            return Words(language, catalogue)
    except OSError:
        return Words(language, gettext.NullTranslations())
