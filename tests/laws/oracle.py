"""The definition of a disagreement, taken word by word and worked out by brute force, to hold the fold against.

The definition: two entries of a slot *disagree* when their values differ, neither sees the other, neither was corrected
or withdrawn by its own author since, and no ruling sees both. One entry *sees* another when `replaces` leads to it,
directly or on the way, slot by slot. Until a ruling, a disagreement shows the value that calls for more attention.

What the words leave open, and how it is taken here as in the fold: in a circle nobody sees another (else nobody in it
would be left to speak); what was withdrawn corrects and rules no more; paths lead through it still.

Nothing here is shared with fold.py, and nothing is clever.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from shared_schema.entries import EntryWithdrawn, RulingGiven
from shared_schema.envelope import BaseEntry
from tests.laws.histories import RANKS

__all__ = ["Judgement", "judge", "members"]

Pair = tuple[str, str]


@dataclass(frozen=True)
class Judgement:
    """What the definition says of one slot.

    `pairs` disagree; `heads` nobody sees; `sees` is (who, whom); `speaks_for` is (ruling, whom); `standing` are the
    statements that were not taken back; `values` what each statement says.
    """

    pairs: frozenset[Pair]
    heads: tuple[str, ...]
    sees: frozenset[Pair]
    speaks_for: frozenset[Pair]
    standing: dict[str, BaseEntry]
    values: dict[str, Any]

    @property
    def disputed(self) -> tuple[str, ...]:
        """Who disagrees with anybody, in text order."""
        return members(self.pairs)

    def shown(self, fact: str) -> Any:
        """The value that the definition shows."""
        if self.pairs:
            return max((self.values[one] for one in self.disputed), key=RANKS[fact].index)
        (value,) = {self.values[one] for one in self.heads}
        return value

    def unspoken(self) -> frozenset[Pair]:
        """The pairs of which no ruling saw either."""
        seen = {whom for _, whom in self.speaks_for}
        return frozenset(pair for pair in self.pairs if not seen & set(pair))


def members(pairs: Iterable[Pair]) -> tuple[str, ...]:
    """Everybody in these pairs, in text order."""
    return tuple(sorted({one for pair in pairs for one in pair}))


def judge(fact: str, entries: Iterable[BaseEntry]) -> Judgement | None:
    """What the definition says of a fact; None where nobody who stands states it."""
    several = list(entries)
    values = {entry.id: dict(entry.facts())[fact] for entry in several if fact in dict(entry.facts())}
    told = {entry.id: entry for entry in several if entry.id in values}
    sees = _sees(told)
    standing = {one: entry for one, entry in told.items() if not _taken_back(entry, several)}
    if not standing:
        return None

    def corrected(one: str) -> bool:
        return any((other, one) in sees and standing[other].by == standing[one].by for other in standing)

    def ruled_together(one: str, two: str) -> bool:
        rulings = [name for name, entry in standing.items() if isinstance(entry, RulingGiven)]
        return any((ruling, one) in sees and (ruling, two) in sees for ruling in rulings)

    def disagree(one: str, two: str) -> bool:
        return (
            values[one] != values[two]
            and (one, two) not in sees
            and (two, one) not in sees
            and not corrected(one)
            and not corrected(two)
            and not ruled_together(one, two)
        )

    return Judgement(
        pairs=frozenset(pair for pair in combinations(sorted(standing), 2) if disagree(*pair)),
        heads=tuple(sorted(one for one in standing if not any((other, one) in sees for other in standing))),
        sees=sees,
        speaks_for=frozenset(p for p in sees if p[0] in standing and isinstance(standing[p[0]], RulingGiven)),
        standing=standing,
        values=values,
    )


def _sees(told: dict[str, BaseEntry]) -> frozenset[Pair]:
    leads = {(one, two) for one, entry in told.items() for two in entry.replaces if two in told}
    while further := {(a, d) for a, b in leads for c, d in leads if b == c} - leads:
        leads |= further
    return frozenset(pair for pair in leads if (pair[1], pair[0]) not in leads)


def _taken_back(entry: BaseEntry, several: Iterable[BaseEntry]) -> bool:
    return any(isinstance(other, EntryWithdrawn) and other.target == entry.id and other.by == entry.by for other in several)
