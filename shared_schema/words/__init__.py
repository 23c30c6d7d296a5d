"""The words that tablet and office have in common: gettext catalogues beside this file, read by each beneath its own.

What both say in the same English is the same in every language. `.ci/catalogues.py update` moves a text here as soon as
both say it.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Final

__all__ = ["HERE", "LANGUAGES"]

HERE: Final = Path(__file__).parent

LANGUAGES: Final[Mapping[str, str]] = {
    "en": "English",
    "es": "Español",
    "fr": "Français",
    "id": "Bahasa Indonesia",
    "pt_BR": "Português (Brasil)",
}
"""Every language by its code, as its speakers call it."""
