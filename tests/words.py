"""The catalogues for tests: compiled where they are not, and words that are longer than any translation."""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

from mobile.words import Words

__all__ = ["LongCatalogue", "catalogues", "compiled_words", "long_words"]


def catalogues() -> ModuleType:
    """The program that keeps the catalogues, .ci/catalogues.py."""
    path = Path(__file__).parent.parent / ".ci" / "catalogues.py"
    spec = importlib.util.spec_from_file_location("catalogues", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def compiled_words() -> None:
    """The catalogues as the program reads them."""
    catalogues().compile_all()


class LongCatalogue:
    """English, a third longer: what room a translation may need."""

    def gettext(self, message: str) -> str:
        """Each word 35 % longer, rounded up."""
        return " ".join(word if word.startswith("{") else word + "ö" * -(-len(word) * 35 // 100) for word in message.split(" "))

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        """The same."""
        return self.gettext(msgid1 if n == 1 else msgid2)

    def pgettext(self, context: str, message: str) -> str:
        """Letters stay letters."""
        del context
        return message


def long_words() -> Words:
    """The words of a language that is longer than English."""
    return Words("en", LongCatalogue())
