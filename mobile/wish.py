"""What is to be loaded: a survey, and all structures, those that it names, or some. It outlives a restart."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, Literal, Self, TypeAlias

from mobile.preferences import Memory
from shared_schema.wire import Offers, SurveyOffer

__all__ = ["Scope", "Wish"]

Scope: TypeAlias = Literal["named", "all", "some"]
_SCOPES: tuple[Scope, ...] = ("named", "all", "some")


@dataclass(frozen=True, slots=True)
class Wish:
    """`some` are the structures that were picked one by one; they count where `scope` says so."""

    survey: str = ""
    name: str = ""
    scope: Scope = "named"
    some: tuple[str, ...] = ()

    @classmethod
    def read(cls, memory: Memory) -> Self:
        """What was wished last; an empty wish where nothing was, or where it makes no sense."""
        kept: Any = memory.get("wish")
        try:
            survey, name, scope, some = kept["survey"], kept["name"], kept["scope"], kept["some"]
        except (KeyError, TypeError):
            return cls()
        whole = isinstance(survey, str) and isinstance(name, str) and scope in _SCOPES and isinstance(some, list)
        return cls(survey, name, scope, tuple(str(each) for each in some)) if whole else cls()

    def keep(self, memory: Memory) -> None:
        """Keep it."""
        memory.put(wish={"survey": self.survey, "name": self.name, "scope": self.scope, "some": list(self.some)})

    def of_survey(self, offered: SurveyOffer) -> Self:
        """Another survey: what it names, until somebody chooses otherwise."""
        return self if offered.id == self.survey else replace(self, survey=offered.id, name=offered.name, scope="named", some=())

    def of(self, scope: str) -> Self:
        """With another scope. Raises ValueError for what is none."""
        for one in _SCOPES:
            if one == scope:
                return replace(self, scope=one)
        raise ValueError(f"{scope!r} is no scope: choose one of {', '.join(_SCOPES)}")

    def toggled(self, structure: str) -> Self:
        """With one more of the structures, or one less."""
        some = [name for name in self.some if name != structure]
        return replace(self, scope="some", some=tuple(some if structure in self.some else [*some, structure]))

    def structures(self, offers: Offers) -> tuple[str, ...]:
        """The structures that are meant. A survey that names none is of all of them."""
        every = tuple(one.id for one in offers.structures)
        if self.scope == "some":
            return _in_order(self.some, every)
        named = next((one.structures for one in offers.surveys if one.id == self.survey), ())
        return _in_order(named, every) or every if self.scope == "named" else every


def _in_order(wanted: Iterable[str], every: tuple[str, ...]) -> tuple[str, ...]:
    several = set(wanted)
    return tuple(name for name in every if name in several)
