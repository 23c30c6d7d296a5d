"""What is missing of a survey, page by page, for as many structures as a reader sees at once."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.review.calendar import Plan
from server.review.progress import Progress, StructureProgress, look_closer
from server.review.wholes import read_whole
from server.store.engine import reading
from server.store.record import RecordStore

__all__ = ["Reach", "look_over_progress"]


@dataclass(frozen=True, slots=True)
class Reach:
    """How far a survey got: all of it in sum, `some` of its structures closer, and of how many these are some."""

    plan: Plan
    progress: Progress
    some: Sequence[StructureProgress]
    total: int


def look_over_progress(store: RecordStore, survey: str, whole: bool, first: int, limit: int) -> Reach:
    """Structures of which a page is not signed off, or with `whole` all, from `first` (counted from 0). Raises NothingSuch."""
    with reading(store.engine) as connection:
        found = read_whole(store, connection, survey)
        progress = found.progress
        listed = progress.structures if whole else progress.missing
        some = look_closer(connection, store.nursery, survey, listed[first : first + limit])
    return Reach(found.summary.plan, progress, some, len(listed))
