"""What tests of the tablet share."""

from tests.words import compiled_words

__all__ = ["compiled_words"]
