"""Who descends from whom. A founder (cut from a donor on the reef) is generation 0; its cuttings are 1, theirs 2, ..."""

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = ["Descent", "descent_of", "generations", "offspring"]


@dataclass(frozen=True, slots=True)
class Descent:
    """A fragment's line up to its founder, nearest first.

    `whole` is False where the line ends in a name that is not in the record, or in a circle; the generation is then
    counted from the last one known.
    """

    fragment: str
    ancestors: tuple[str, ...]
    whole: bool

    @property
    def generation(self) -> int:
        """0 for a founder, 1 for its cuttings, and so on."""
        return len(self.ancestors)

    @property
    def founder(self) -> str:
        """The first of the line in the nursery."""
        return self.ancestors[-1] if self.ancestors else self.fragment


def descent_of(fragment: str, parents: Mapping[str, str | None]) -> Descent:
    """The descent of one fragment; `parents` gives each known fragment's parent, None for a founder."""
    line: list[str] = []
    met = {fragment}
    parent = parents.get(fragment)
    while parent is not None:
        if parent in met or parent not in parents:
            return Descent(fragment, tuple(line), whole=False)
        met.add(parent)
        line.append(parent)
        parent = parents[parent]
    return Descent(fragment, tuple(line), whole=fragment in parents)


def generations(parents: Mapping[str, str | None]) -> dict[str, int]:
    """Every fragment's generation, as `descent_of` gives it, in time proportional to their number, however long the lines."""
    known: dict[str, int] = {}
    for fragment in parents:
        trail: list[str] = []
        met: set[str] = set()
        here: str | None = fragment
        while here is not None and here in parents and here not in known and here not in met:
            met.add(here)
            trail.append(here)
            here = parents[here]
        if here in met:  # a circle: each in it has all the others for ancestors
            circle = trail[trail.index(here) :]
            known.update(dict.fromkeys(circle, len(circle) - 1))
            del trail[-len(circle) :]
        start = known.get(here, -1) + 1 if here is not None else 0
        for depth, name in enumerate(reversed(trail)):
            known[name] = start + depth
    return known


def offspring(parents: Mapping[str, str | None]) -> dict[str, tuple[str, ...]]:
    """parent -> its cuttings, in the order of their names."""
    children: dict[str, list[str]] = {}
    for fragment in sorted(parents):
        parent = parents[fragment]
        if parent is not None:
            children.setdefault(parent, []).append(fragment)
    return {parent: tuple(names) for parent, names in children.items()}
