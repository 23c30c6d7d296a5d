"""Which pages somebody vouched for, which nobody reached, and of which nobody said anything."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, select
from sqlmodel import col

from server.review.structures import Hung
from server.store.folding import load_finding
from server.store.models import FindingRow
from shared_schema.ids import split_subject

__all__ = ["Coverage", "PageWord", "coverage_in"]


@dataclass(frozen=True, slots=True)
class PageWord:
    """What somebody said of a page or a whole structure, and the entry that says it.

    `counts` are (alive, marked, unseen) as signed; None where the word is that nobody got there, for `reason`.
    """

    entry_id: str
    about: str
    counts: tuple[int, int, int] | None
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class Coverage:
    """The words on a structure's pages. A page that one diver signed and another did not reach counts as signed."""

    pages: tuple[str, ...]
    words: Mapping[str, list[PageWord]] = field(default_factory=dict)

    @property
    def signed(self) -> list[str]:
        """The addresses of pages that somebody signed off."""
        return [page for page in self.pages if any(word.counts for word in self.words.get(page, ()))]

    @property
    def not_reached(self) -> list[str]:
        """The addresses of pages that nobody signed and somebody says were not reached."""
        signed = frozenset(self.signed)
        return [page for page in self.pages if page not in signed and self.words.get(page)]

    @property
    def silent(self) -> list[str]:
        """The addresses of pages of which nobody said anything."""
        return [page for page in self.pages if not self.words.get(page)]


def coverage_in(connection: Connection, nursery: int, survey: str, structures: Mapping[str, Hung]) -> dict[str, Coverage]:
    """The coverage of these structures in a survey, by name."""
    words: defaultdict[str, list[PageWord]] = defaultdict(list)
    rows = connection.execute(
        select(col(FindingRow.subject), col(FindingRow.slots)).where(
            col(FindingRow.nursery) == nursery,
            col(FindingRow.survey) == survey,
            col(FindingRow.structure).in_(sorted(structures)),
            col(FindingRow.sort).in_(("page", "structure")),
        )
    )
    for subject, slots in rows:
        slot = load_finding(survey, subject, slots).slots.get("coverage")
        if slot is None:
            continue
        sort, name = split_subject(subject)
        said = [_word(entry_id, name, body) for entry_id, body in zip(slot.heads, slot.value, strict=True)]
        hung = structures.get(name)
        for page in hung.pages if sort == "structure" and hung is not None else (name,):
            words[page] += said
    return {
        name: Coverage(hung.pages, {page: words[page] for page in hung.pages if page in words}) for name, hung in structures.items()
    }


def _word(entry_id: str, about: str, body: Mapping[str, Any]) -> PageWord:
    if "alive" in body:
        return PageWord(entry_id, about, (body["alive"], body["marked"], body["unseen"]))
    return PageWord(entry_id, about, None, body.get("reason"))
