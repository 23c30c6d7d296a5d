"""How this tablet's users like it: language, theme, hand, size of the glass, whether the last visit shows."""

from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from typing import Any, Final, Protocol, Self

from pydantic import JsonValue

from mobile.theme import THEMES, ThemeName
from mobile.words import LANGUAGES

__all__ = ["Memory", "PreferenceKeeper", "Preferences"]

_SMALLEST: Final = 0.3
_LARGEST: Final = 4.0


class Memory(Protocol):
    """Names and JSON values that outlive a restart."""

    def get(self, name: str, default: JsonValue = None) -> JsonValue:
        """The value that was put last, or `default`."""
        ...

    def put(self, **values: JsonValue) -> None:
        """Keep values."""
        ...


@dataclass(frozen=True, slots=True)
class Preferences:
    """`factor` is what the reported size of a pixel is multiplied by (see ruler.py)."""

    language: str = "en"
    theme: ThemeName = "bright"
    left_handed: bool = False
    factor: float = 1.0
    faint: bool = True

    @classmethod
    def read(cls, memory: Memory) -> Self:
        """What was kept; anything unknown or out of reason is taken as never set, so that a tablet always starts."""
        checks: dict[str, Callable[[Any], bool]] = {
            "language": lambda value: value in list(LANGUAGES),
            "theme": lambda value: value in list(THEMES),
            "left_handed": lambda value: isinstance(value, bool),
            "factor": lambda value: type(value) in (float, int) and _SMALLEST <= value <= _LARGEST,
            "faint": lambda value: isinstance(value, bool),
        }
        kept: dict[str, Any] = {name: memory.get(name) for name in checks}
        return cls(**{name: kept[name] for name, check in checks.items() if check(kept[name])})

    def keep(self, memory: Memory) -> None:
        """Keep all of it."""
        memory.put(**asdict(self))


class PreferenceKeeper:
    """The preferences in force: changes are kept before they show."""

    def __init__(self, memory: Memory) -> None:
        self._memory = memory
        self.now = Preferences.read(memory)

    def change(self, **values: Any) -> Preferences:
        """New values for some of them. Raises TypeError for a name that is none of theirs."""
        wanted = replace(self.now, **values)
        wanted.keep(self._memory)
        self.now = wanted
        return wanted
