"""How far a survey got: which structures and pages somebody vouched for, works on, did not reach, or said nothing of.

A page is *signed* where somebody signed it off, whatever else was said of it; else *in work* where somebody saw a fragment
on it; else *not reached* where somebody says so; else nobody said anything. Fragments are counted by what was found.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final, Literal, NamedTuple, TypeAlias

from sqlalchemy import Connection, Integer, and_, cast, func, select
from sqlmodel import col

from server.review.coverage import Coverage, PageWord, coverage_in
from server.review.entries import entries_named
from server.review.entries_in_sql import said
from server.review.placing import not_looked_at
from server.review.sighted import page_number, sighted
from server.review.structures import Hung, natural
from server.store.bulk import in_chunks
from server.store.models import EntryRow
from shared_schema.entries import ConditionSeen
from shared_schema.ids import parse_address

__all__ = ["PAGE_STATES", "PageProgress", "PageState", "Progress", "StructureProgress", "look_closer", "progress_in"]

PageState: TypeAlias = Literal["signed", "in_work", "not_reached", "silent"]

PAGE_STATES: Final[tuple[PageState, ...]] = ("signed", "in_work", "not_reached", "silent")
"""From done to not begun."""

_STATES: Final[Mapping[str, PageState]] = {"signed_off": "signed", "not_reached": "not_reached"}

_SEEN: Final[str] = ConditionSeen.model_fields["kind"].default


class Seen(NamedTuple):
    """How many fragments of a page have a condition, those that nobody could tell among them."""

    many: int
    unsure: int


@dataclass(frozen=True, slots=True)
class PageProgress:
    """A page. `seen` of its fragments have a condition, of which `unsure` could not be told.

    These two are counted where the structure is not whole. After look_closer it is known how many are `unseen`, what `words`
    were said by those who signed it or did not reach it, and which `people` signed it, saw something on it, or did not get
    there.
    """

    page: str
    state: PageState
    seen: int = 0
    unsure: int = 0
    words: Sequence[PageWord] = ()
    unseen: int = 0
    people: tuple[str, ...] = ()

    @property
    def number(self) -> str:
        """The page within its structure."""
        return parse_address(self.page).path

    @property
    def reasons(self) -> tuple[str, ...]:
        """Why nobody got there, as those say who did not."""
        return tuple(dict.fromkeys(word.reason for word in self.words if word.counts is None and word.reason))


@dataclass(frozen=True, slots=True)
class StructureProgress:
    """A structure with its pages, in order."""

    hung: Hung
    pages: tuple[PageProgress, ...] = ()

    @property
    def missing(self) -> tuple[PageProgress, ...]:
        """The pages that nobody signed."""
        return tuple(page for page in self.pages if page.state != "signed")

    @property
    def whole(self) -> bool:
        """Whether every page was signed; one of which no page is known never is."""
        return bool(self.pages) and not self.missing

    @property
    def reached(self) -> bool:
        """Whether somebody signed a page, or saw a fragment."""
        return any(page.state in ("signed", "in_work") for page in self.pages)

    @property
    def untouched(self) -> bool:
        """Whether nobody said anything of any of its pages."""
        return bool(self.pages) and all(page.state == "silent" for page in self.pages)

    @property
    def refused(self) -> bool:
        """Whether somebody says that nobody got there, and nobody did."""
        return not self.reached and any(page.state == "not_reached" for page in self.pages)


@dataclass(frozen=True, slots=True)
class Progress:
    """All structures of a survey, in reading order."""

    structures: tuple[StructureProgress, ...] = field(default_factory=tuple)

    @property
    def missing(self) -> tuple[StructureProgress, ...]:
        """Those of which a page was not signed."""
        return tuple(one for one in self.structures if not one.whole)

    @property
    def reached(self) -> int:
        """How many structures somebody began."""
        return sum(one.reached for one in self.structures)

    @property
    def whole(self) -> int:
        """How many structures are signed off, every page."""
        return sum(one.whole for one in self.structures)

    @property
    def refused(self) -> int:
        """How many structures nobody got to, as somebody says."""
        return sum(one.refused for one in self.structures)

    @property
    def page_count(self) -> int:
        """How many pages there are."""
        return sum(len(one.pages) for one in self.structures)

    def pages(self, state: PageState) -> int:
        """How many pages are in a state."""
        return sum(page.state == state for one in self.structures for page in one.pages)


def progress_in(
    connection: Connection, nursery: int, survey: str, hung: Mapping[str, Hung], coverage: Mapping[str, Coverage]
) -> Progress:
    """How far a survey got on these structures; `coverage` is what coverage_in gave for them."""
    vouched = {name: _pages_of(one) for name, one in coverage.items()}
    unfinished = [name for name, pages in vouched.items() if not pages or any(page.state != "signed" for page in pages.values())]
    begun = _seen_on(connection, nursery, survey, unfinished)
    return Progress(tuple(_with_work(one, vouched[name], begun.get(name, {})) for name, one in hung.items()))


def _pages_of(coverage: Coverage) -> dict[str, PageProgress]:
    """The pages by what people said of them, whatever was seen there."""
    pages: dict[str, PageProgress] = {}
    for page in coverage.pages:
        pages[page] = PageProgress(page, _STATES.get(coverage.covered.get(page, ""), "silent"))
    return pages


def _with_work(hung: Hung, pages: dict[str, PageProgress], begun: Mapping[str, Seen]) -> StructureProgress:
    for page in sorted(begun, key=natural):
        held = pages.get(page) or PageProgress(page, "silent")
        state = held.state if held.state == "signed" else "in_work"
        pages[page] = replace(held, state=state, seen=begun[page].many, unsure=begun[page].unsure)
    return StructureProgress(hung, tuple(pages.values()))


def _seen_on(connection: Connection, nursery: int, survey: str, structures: Sequence[str]) -> dict[str, dict[str, Seen]]:
    """structure -> page -> how many fragments somebody saw there."""
    found: dict[str, dict[str, Seen]] = {}
    for some in in_chunks(structures):
        there = sighted(nursery, survey, some)
        number = page_number(connection, there.c.structure, there.c.place)
        unsure = func.sum(cast(there.c.status == "could_not_tell", Integer))
        rows = connection.execute(
            select(there.c.structure, number, func.count(), unsure).group_by(there.c.structure, number).where(number != "")
        )
        for structure, page, many, not_sure in rows:
            found.setdefault(structure, {})[f"{structure}/{page}"] = Seen(many, int(not_sure))
    return found


def look_closer(
    connection: Connection, nursery: int, survey: str, structures: Sequence[StructureProgress]
) -> list[StructureProgress]:
    """The same structures with how much of each page nobody saw, and who saw, signed or did not reach each."""
    names = [one.hung.structure for one in structures]
    unseen = Counter(parse_address(one.place).page for one in not_looked_at(connection, nursery, survey, names))
    coverage = coverage_in(connection, nursery, survey, {one.hung.structure: one.hung for one in structures})
    words = {page: several for one in coverage.values() for page, several in one.words.items()}
    told = entries_named(connection, nursery, {word.entry_id for several in words.values() for word in several})
    working = [one.hung.structure for one in structures if any(page.state == "in_work" for page in one.pages)]
    saw = _who_saw(connection, nursery, survey, working)

    def closer(page: PageProgress) -> PageProgress:
        mine = words.get(page.page, [])
        people = [told[word.entry_id].by for word in mine if word.entry_id in told and _speaks(page, word)]
        who = tuple(dict.fromkeys(people)) or saw.get(page.page, ())
        return replace(page, words=mine, unseen=unseen[page.page], people=who)

    return [StructureProgress(one.hung, tuple(map(closer, one.pages))) for one in structures]


def _speaks(page: PageProgress, word: PageWord) -> bool:
    """Whether a word is why the page is in the state in which it is."""
    return word.counts is not None if page.state == "signed" else page.state == "not_reached"


def _who_saw(connection: Connection, nursery: int, survey: str, structures: Sequence[str]) -> dict[str, tuple[str, ...]]:
    """page -> who said of a fragment there in what condition it is."""
    found: dict[str, dict[str, None]] = {}
    for some in in_chunks(structures):
        there = sighted(nursery, survey, some)
        number, by = page_number(connection, there.c.structure, there.c.place), said(connection, "by")
        rows = connection.execute(
            select(there.c.structure, number, by)
            .join(
                EntryRow,
                and_(
                    col(EntryRow.nursery) == nursery,
                    col(EntryRow.survey) == survey,
                    col(EntryRow.subject) == there.c.subject,
                ),
            )
            .where(col(EntryRow.set_aside).is_(None), said(connection, "kind") == _SEEN)
            .distinct()
            .order_by(by)
        )
        for structure, page, person in rows:
            found.setdefault(f"{structure}/{page}", {})[person] = None
    return {page: tuple(people) for page, people in found.items()}
