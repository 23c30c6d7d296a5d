"""What is missing of a survey, or of it is in any other state, page by page, for as many structures as a reader sees at once."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from server.review.calendar import Plan
from server.review.progress import PageProgress, PageState, Progress, StructureProgress, look_closer
from server.review.wholes import read_whole
from server.store.engine import reading
from server.store.record import RecordStore

__all__ = ["Pages", "Reach", "Reached", "look_over_progress"]

Reached: TypeAlias = Literal["whole", "begun", "refused", "silent"]
"""Structures: every page signed off; somebody began; nobody got there, as somebody says; nobody said anything."""


@dataclass(frozen=True, slots=True)
class Pages:
    """Which pages are listed: those that are not signed off, `whole` every page, or those in a `state`.

    Where a `structure` is named or they are in a state of their own (`reached`), every page of these.
    """

    whole: bool = False
    state: PageState | None = None
    reached: Reached | None = None
    structure: str = ""

    @property
    def every(self) -> bool:
        """Whether all pages of a structure are listed, or those that are not signed off."""
        return self.whole or bool(self.reached or self.structure)

    def of(self, one: StructureProgress) -> tuple[PageProgress, ...]:
        """The pages of a structure that are listed."""
        if self.state is not None:
            return tuple(page for page in one.pages if page.state == self.state)
        return one.pages if self.every else one.missing

    def takes(self, one: StructureProgress) -> bool:
        """Whether a structure is listed."""
        if self.structure:
            return one.hung.structure == self.structure
        if self.reached is not None:
            return _is(one, self.reached)
        if self.state is not None:
            return any(page.state == self.state for page in one.pages)
        return self.whole or not one.whole


def _is(one: StructureProgress, reached: Reached) -> bool:
    told = {"whole": one.whole, "begun": one.reached, "refused": one.refused}
    return told.get(reached, not (one.reached or one.refused))


@dataclass(frozen=True, slots=True)
class Reach:
    """How far a survey got: all of it in sum, `some` of its structures closer, and of how many these are some."""

    plan: Plan
    progress: Progress
    some: Sequence[StructureProgress]
    total: int


def look_over_progress(store: RecordStore, survey: str, which: Pages, first: int, limit: int) -> Reach:
    """Structures of which such pages are listed, from `first` (counted from 0). Raises NothingSuch."""
    with reading(store.engine) as connection:
        found = read_whole(store, connection, survey)
        progress = found.progress
        listed = [one for one in progress.structures if which.takes(one)]
        some = look_closer(connection, store.nursery, survey, listed[first : first + limit])
    return Reach(found.summary.plan, progress, some, len(listed))
