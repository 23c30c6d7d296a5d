"""The languages that the office speaks: every one that has a catalogue in server/words.

Dates and numbers are written as Babel knows them; English as it is written between countries, Spanish as in Latin America.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from gettext import GNUTranslations, NullTranslations
from pathlib import Path
from typing import Final

from babel import Locale

from shared_schema.words import HERE as SHARED
from shared_schema.words import LANGUAGES

__all__ = ["ENGLISH", "HERE", "Language", "choose_language", "read_languages"]

HERE: Final = Path(__file__).parent.parent / "words"
_WRITTEN_AS: Final = {"en": "en_001", "es": "es_419"}


@dataclass(frozen=True, slots=True)
class Language:
    """A language. `code` is its code in HTML, as pt-BR, and `name` what its speakers call it."""

    code: str
    name: str
    words: NullTranslations
    locale: Locale


def _language(name: str, words: NullTranslations) -> Language:
    locale = Locale.parse(_WRITTEN_AS.get(name, name))
    called = LANGUAGES.get(name) or (locale.get_display_name() or name).capitalize()
    return Language(name.replace("_", "-"), called, words, locale)


ENGLISH: Final = _language("en", NullTranslations())
"""The language of the code itself."""


def read_languages() -> Mapping[str, Language]:
    """Every language by its code, English first. One whose catalogue was never compiled is not spoken."""
    found = {ENGLISH.code: ENGLISH}
    for path in sorted(HERE.glob("*.mo")):
        words = _words(path)
        if (shared := SHARED / path.name).exists():
            words.add_fallback(_words(shared))
        spoken = _language(path.stem, words)
        found[spoken.code] = spoken
    return found


def _words(path: Path) -> GNUTranslations:
    with path.open("rb") as file:
        return GNUTranslations(file)


def choose_language(languages: Mapping[str, Language], accepted: str) -> Language:
    """The language that a browser asks for by its header Accept-Language (RFC 9110), English where none fits."""
    for tag in _by_weight(accepted):
        for code, one in languages.items():
            if code.casefold() == tag or code.casefold().partition("-")[0] == tag.partition("-")[0]:
                return one
    return ENGLISH


def _by_weight(accepted: str) -> list[str]:
    asked: list[tuple[float, int, str]] = []
    for part in accepted[:400].split(","):
        tag, _, weight = part.strip().casefold().partition(";q=")
        try:
            share = float(weight or "1")
        except ValueError:
            share = 0.0
        if tag and share > 0:
            asked.append((-share, len(asked), tag))
    return [tag for _, _, tag in sorted(asked)]
