"""What a program has to say about its data, so that whoever shows it can say it in another language."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeAlias

__all__ = ["Saying", "Told", "mark", "say"]

Told: TypeAlias = str | int | tuple[str, ...]
"""What goes into a place: a text, a number, or several texts."""


@dataclass(frozen=True, slots=True, order=True)
class Saying:
    """An English sentence with named places, as %(name)s, and what goes there. As text it is that sentence."""

    message: str
    values: tuple[tuple[str, Told], ...] = ()

    def __str__(self) -> str:
        return self.message % dict(self._plain())

    def _plain(self) -> Iterator[tuple[str, str | int]]:
        for name, value in self.values:
            yield name, " and ".join(value) if isinstance(value, tuple) else value


def mark(message: str) -> str:
    """A text that is collected for translation where it stands, and translated where it is shown."""
    return message


def say(message: str, /, **values: Told) -> Saying:
    """Keep a sentence apart from what goes into its places, by their names."""
    return Saying(message, tuple(values.items()))
