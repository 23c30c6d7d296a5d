"""A crew that writes the history of a nursery of one line, entry by entry, for tests of what spans several slots."""

from datetime import UTC, datetime
from typing import Any, Final

from shared_schema.designs import Design, parse_design
from shared_schema.entries import ConditionSeen, FragmentMoved, FragmentPlanted, GenetRegistered, RulingGiven, TagChecked
from shared_schema.envelope import BaseEntry

__all__ = ["DESIGNS", "FIRST", "SECOND", "THIRD", "Crew"]

WHEN: Final = datetime(2026, 11, 14, tzinfo=UTC)
DESIGNS: Final[dict[str, Design]] = {"L1": parse_design({"design": "line", "unit": "m", "length": "20", "spacing": "0.5"})}
FIRST, SECOND, THIRD = (position.path for position in DESIGNS["L1"].positions[:3])


class Crew:
    """Writes entries in the order in which they are called for; each is by somebody who knew of nothing else."""

    def __init__(self) -> None:
        self.entries: list[BaseEntry] = []

    def _say(self, kind: type[BaseEntry], subject: str, survey: str, **fields: Any) -> BaseEntry:
        writer = "office2ab4" if kind is RulingGiven else "k7f3qz"
        envelope: dict[str, Any] = {"id": f"{writer}-{len(self.entries) + 1}", "by": "anna", "observed": WHEN, "entered": WHEN}
        self.entries.append(kind(**(envelope | {"subject": subject, "survey": survey} | fields)))
        return self.entries[-1]

    def plants(self, name: str, path: str = FIRST, survey: str = "2026-01", **fields: Any) -> BaseEntry:
        """A fragment is hung on line L1."""
        return self._say(FragmentPlanted, f"fragment:{name}", survey, **({"place": f"L1/{path}"} | fields))

    def moves(self, name: str, place: str, survey: str = "2026-02", **fields: Any) -> BaseEntry:
        """A fragment goes somewhere else."""
        return self._say(FragmentMoved, f"fragment:{name}", survey, place=place, **fields)

    def sees(self, name: str, survey: str = "2026-02", **fields: Any) -> BaseEntry:
        """A fragment is looked at."""
        return self._say(ConditionSeen, f"fragment:{name}", survey, **({"status": "alive"} | fields))

    def reads(self, name: str, tag: str, survey: str = "2026-02") -> BaseEntry:
        """A tag is read."""
        return self._say(TagChecked, f"fragment:{name}", survey, tag=tag, tag_state="readable")

    def rules(self, name: str, fact: str, value: Any, survey: str, *seen: BaseEntry) -> BaseEntry:
        """The supervisor settles something."""
        replaces = tuple(one.id for one in seen)
        return self._say(RulingGiven, f"fragment:{name}", survey, fact=fact, value=value, replaces=replaces)

    def registers(self, genet: str) -> BaseEntry:
        """A genet is entered."""
        return self._say(GenetRegistered, f"genet:{genet}", "", name=genet)
