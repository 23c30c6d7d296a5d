"""What tests of the screens share."""

from tests.words import compiled_words

__all__ = ["compiled_words"]
