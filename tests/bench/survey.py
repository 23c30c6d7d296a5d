"""A survey for the benchmarks: what one crew enters about many corals, with the times at which fingers tap."""

import random
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

from shared_schema.author import Author
from shared_schema.entries import ConditionSeen

__all__ = ["Watch", "observe"]

STATUSES = ["alive"] * 30 + ["fading", "bleached", "preyed_on", "sick", "dead", "lost"]


class Watch:
    """A clock that goes on by a second or two whenever it is looked at."""

    def __init__(self) -> None:
        self._now = datetime(2026, 11, 20, 9, tzinfo=UTC)
        self._random = random.Random(7)

    def __call__(self) -> datetime:
        """The time."""
        self._now += timedelta(milliseconds=self._random.randint(0, 2500))
        return self._now.replace(microsecond=0)


def observe(writer: str, survey: str, corals: int, last: int = 0) -> Iterator[ConditionSeen]:
    """One entry for each coral, in the order of the map, some with details."""
    author, chance = Author(writer, last, "ana", Watch()), random.Random(survey)
    for number in range(corals):
        tree, place = divmod(number, 100)
        address = f"T{tree:04d}/{place // 20 + 1}.{place % 20 // 5 + 1}.{place % 5 + 1}"
        status = chance.choice(STATUSES)
        tissue = None if status == "alive" else chance.randrange(0, 100, 5)
        basis = "signed_off" if status == "alive" else "tapped"
        yield author.write(
            ConditionSeen, f"fragment:F{number:06d}", survey, status=status, live_tissue=tissue, basis=basis, seen_at=address
        )
        author.written.clear()
