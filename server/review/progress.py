"""How far a survey got: which structures and pages somebody vouched for, works on, did not reach, or said nothing of.

A page is *signed* where somebody signed it off, whatever else was said of it; else *in work* where somebody saw a fragment
on it; else *not reached* where somebody says so; else nobody said anything. Fragments are counted by what was found.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final, Literal, NamedTuple, TypeAlias

from sqlalchemy import ColumnElement, Connection, Integer, String, Subquery, and_, cast, func, select
from sqlmodel import col

from server.review.coverage import Coverage, PageWord
from server.review.entries import entries_named
from server.review.entries_in_sql import said
from server.review.facts_in_sql import found_value
from server.review.placing import not_looked_at
from server.review.structures import Hung, natural
from server.store.bulk import in_chunks
from server.store.models import EntryRow, FindingRow, StandingRow
from shared_schema.entries import ConditionSeen
from shared_schema.ids import parse_address

__all__ = ["PAGE_STATES", "PageProgress", "PageState", "Progress", "StructureProgress", "look_closer", "progress_in"]

PageState: TypeAlias = Literal["signed", "in_work", "not_reached", "silent"]

PAGE_STATES: Final[tuple[PageState, ...]] = ("signed", "in_work", "not_reached", "silent")
"""From done to not begun."""

_SEEN: Final[str] = ConditionSeen.model_fields["kind"].default


class Seen(NamedTuple):
    """How many fragments of a page have a condition, those that nobody could tell among them."""

    many: int
    unsure: int


@dataclass(frozen=True, slots=True)
class PageProgress:
    """A page. `words` are those of people who signed it or did not reach it.

    `seen` of its fragments have a condition, of which `unsure` could not be told: counted where the structure is not whole.
    `unseen` have none; `people` signed it, saw something on it, or did not reach it: both are known after look_closer.
    """

    page: str
    state: PageState
    words: Sequence[PageWord] = ()
    seen: int = 0
    unsure: int = 0
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

    def pages(self, state: PageState) -> int:
        """How many pages are in a state."""
        return sum(page.state == state for one in self.structures for page in one.pages)


def progress_in(
    connection: Connection, nursery: int, survey: str, hung: Mapping[str, Hung], coverage: Mapping[str, Coverage]
) -> Progress:
    """How far a survey got on these structures; `coverage` is what coverage_in gave for them."""
    unfinished = [name for name, one in coverage.items() if len(one.signed) < max(len(one.pages), 1)]
    begun = _seen_on(connection, nursery, survey, unfinished)
    return Progress(tuple(_of_structure(hung[name], coverage[name], begun.get(name, {})) for name in hung))


def _of_structure(hung: Hung, coverage: Coverage, begun: Mapping[str, Seen]) -> StructureProgress:
    known = dict.fromkeys((*hung.pages, *sorted(begun, key=natural)))
    signed, refused = frozenset(coverage.signed), frozenset(coverage.not_reached)
    pages = []
    for page in known:
        seen = begun.get(page, Seen(0, 0))
        state: PageState = (
            "signed" if page in signed else "in_work" if seen.many else "not_reached" if page in refused else "silent"
        )
        pages.append(PageProgress(page, state, coverage.words.get(page, ()), *seen))
    return StructureProgress(hung, tuple(pages))


def _seen_on(connection: Connection, nursery: int, survey: str, structures: Sequence[str]) -> dict[str, dict[str, Seen]]:
    """structure -> page -> how many fragments somebody saw there."""
    found: dict[str, dict[str, Seen]] = {}
    for some in in_chunks(structures):
        sighted = _sighted(connection, nursery, survey, some)
        number = _page_number(connection, sighted.c.structure, sighted.c.place)
        unsure = func.sum(cast(sighted.c.status == "could_not_tell", Integer))
        rows = connection.execute(
            select(sighted.c.structure, number, func.count(), unsure).group_by(sighted.c.structure, number).where(number != "")
        )
        for structure, page, many, not_sure in rows:
            found.setdefault(structure, {})[f"{structure}/{page}"] = Seen(many, int(not_sure))
    return found


def _sighted(connection: Connection, nursery: int, survey: str, structures: Sequence[str]) -> Subquery:
    """(structure, place, subject, status) of each finding of a survey that says in what condition something is."""
    mine = (col(FindingRow.nursery) == nursery, col(FindingRow.survey) == survey, col(FindingRow.status).is_not(None))
    named = func.substr(col(FindingRow.subject), len("position:") + 1)  # what has no place of its own is a position itself
    place = func.coalesce(found_value(connection, "place"), found_value(connection, "seen_at"), named)
    subject: ColumnElement[Any] = col(FindingRow.subject).label("subject")
    status: ColumnElement[Any] = col(FindingRow.status).label("status")
    placed = select(col(FindingRow.structure).label("structure"), place.label("place"), subject, status).where(
        *mine, col(FindingRow.sort).in_(("fragment", "position")), col(FindingRow.structure).in_(structures)
    )
    known = (
        select(col(StandingRow.structure), col(StandingRow.place), subject, status)
        .join(
            StandingRow,
            and_(
                col(StandingRow.nursery) == col(FindingRow.nursery),
                col(StandingRow.subject) == col(FindingRow.subject),
            ),
        )
        .where(
            *mine,
            col(FindingRow.sort) == "fragment",
            col(FindingRow.structure).is_(None),
            col(StandingRow.structure).in_(structures),
        )
    )
    return placed.union_all(known).subquery()


def _page_number(connection: Connection, structure: ColumnElement[Any], place: ColumnElement[Any]) -> ColumnElement[str]:
    """The first part of the path of a place."""
    path = func.substr(place, func.length(structure) + 2)
    find = func.instr if connection.dialect.name == "sqlite" else func.strpos
    return func.substr(path, 1, find(path + ".", ".") - 1, type_=String)


def look_closer(
    connection: Connection, nursery: int, survey: str, structures: Sequence[StructureProgress]
) -> list[StructureProgress]:
    """The same structures with how much of each page nobody saw, and who saw, signed or did not reach each."""
    names = [one.hung.structure for one in structures]
    unseen = Counter(parse_address(one.place).page for one in not_looked_at(connection, nursery, survey, names))
    words = {word.entry_id for one in structures for page in one.pages for word in page.words}
    told = entries_named(connection, nursery, words)
    working = [one.hung.structure for one in structures if any(page.state == "in_work" for page in one.pages)]
    saw = _who_saw(connection, nursery, survey, working)

    def closer(page: PageProgress) -> PageProgress:
        people = [told[word.entry_id].by for word in page.words if word.entry_id in told and _speaks(page, word)]
        return replace(page, unseen=unseen[page.page], people=tuple(dict.fromkeys(people)) or saw.get(page.page, ()))

    return [StructureProgress(one.hung, tuple(map(closer, one.pages))) for one in structures]


def _speaks(page: PageProgress, word: PageWord) -> bool:
    """Whether a word is why the page is in the state in which it is."""
    return word.counts is not None if page.state == "signed" else page.state == "not_reached"


def _who_saw(connection: Connection, nursery: int, survey: str, structures: Sequence[str]) -> dict[str, tuple[str, ...]]:
    """page -> who said of a fragment there in what condition it is."""
    found: dict[str, dict[str, None]] = {}
    for some in in_chunks(structures):
        sighted = _sighted(connection, nursery, survey, some)
        number, by = _page_number(connection, sighted.c.structure, sighted.c.place), said(connection, "by")
        rows = connection.execute(
            select(sighted.c.structure, number, by)
            .join(
                EntryRow,
                and_(
                    col(EntryRow.nursery) == nursery,
                    col(EntryRow.survey) == survey,
                    col(EntryRow.subject) == sighted.c.subject,
                ),
            )
            .where(col(EntryRow.set_aside).is_(None), said(connection, "kind") == _SEEN)
            .distinct()
            .order_by(by)
        )
        for structure, page, person in rows:
            found.setdefault(f"{structure}/{page}", {})[person] = None
    return {page: tuple(people) for page, people in found.items()}
