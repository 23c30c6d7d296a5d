"""What may be true and should have a note: the tablet asks for one at once, the office lists what has none. It stops nobody."""

from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from shared_schema.facts import GONE, LIVING

__all__ = ["MANY", "RISEN_FROM", "TOO_FAST_S", "Unlikely", "UnlikelySort", "back_to_life", "none_marked", "signed_in_haste"]

UnlikelySort: TypeAlias = Literal["lost_then_living", "dead_then_living", "signed_in_seconds", "none_marked"]

TOO_FAST_S: Final = 5
"""Nobody reads a page in fewer seconds."""
MANY: Final = 10
"""Where so many on a page called for attention, not all are well at the next visit."""
RISEN_FROM: Final[frozenset[str]] = GONE | {"dead"}


@dataclass(frozen=True, slots=True)
class Unlikely:
    """Something unlikely; `sort` is for translation, `detail` says it in English.

    `where` is the page or position that it is about.
    """

    sort: UnlikelySort
    detail: str
    where: str


def back_to_life(fragment: str, where: str, status: str | None, before: tuple[str, str] | None) -> tuple[Unlikely, ...]:
    """A fragment lives that was lost or dead; `before` is (survey, status) of the latest survey before that looked at it."""
    if before is None or status not in LIVING or before[1] not in RISEN_FROM:
        return ()
    survey, was = before
    sort: UnlikelySort = "lost_then_living" if was == "lost" else "dead_then_living"
    return (Unlikely(sort, f"{fragment} was {was} in {survey} and is {status} now", where),)


def signed_in_haste(page: str, seconds: float | None) -> tuple[Unlikely, ...]:
    """A page was signed off so many seconds after it was opened; None where nobody knows."""
    if seconds is None or seconds >= TOO_FAST_S:
        return ()
    return (Unlikely("signed_in_seconds", f"{page} was signed off {seconds:.0f} s after it was opened", page),)


def none_marked(page: str, now: int, then: int, before: str) -> tuple[Unlikely, ...]:
    """None on a page calls for attention now, and `then` did in `before`, the latest survey before that looked at it."""
    if now or then < MANY:
        return ()
    return (Unlikely("none_marked", f"nothing is marked on {page}, and {before or 'the record'} had {then}", page),)
