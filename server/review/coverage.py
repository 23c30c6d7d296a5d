"""Which pages somebody vouched for, which nobody reached, and of which nobody said anything."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from itertools import chain
from typing import Any, Final

from sqlalchemy import ColumnElement, Connection, and_, case, select
from sqlmodel import col

from server.review.structures import Hung
from server.store.folding import load_finding
from server.store.models import FindingRow
from shared_schema.ids import split_subject

__all__ = ["Coverage", "PageWord", "coverage_in", "coverage_through"]


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
    """The words on a structure's pages. A page that one diver signed and another did not reach counts as signed.

    `covered`: page -> "signed_off" or "not_reached". `words` may be left out of pages that were signed off.
    """

    pages: tuple[str, ...]
    words: Mapping[str, list[PageWord]] = field(default_factory=dict)
    covered: Mapping[str, str] = field(default_factory=dict)

    @property
    def signed(self) -> list[str]:
        """The addresses of pages that somebody signed off."""
        return [page for page in self.pages if self.covered.get(page) == "signed_off"]

    @property
    def not_reached(self) -> list[str]:
        """The addresses of pages that nobody signed and somebody says were not reached."""
        return [page for page in self.pages if self.covered.get(page) == "not_reached"]

    @property
    def silent(self) -> list[str]:
        """The addresses of pages of which nobody said anything."""
        return [page for page in self.pages if page not in self.covered]


def coverage_in(
    connection: Connection, nursery: int, survey: str, structures: Mapping[str, Hung], every_word: bool = True
) -> dict[str, Coverage]:
    """The coverage of these structures in a survey, by name; with the words on pages that were signed off if `every_word`."""
    wanted = col(FindingRow.covered).is_not(None) if every_word else col(FindingRow.covered) != "signed_off"
    columns = (*_COLUMNS, case((wanted, col(FindingRow.slots))))
    mine = (col(FindingRow.nursery) == nursery, col(FindingRow.survey) == survey, col(FindingRow.covered).is_not(None))
    rows = chain.from_iterable(connection.execute(select(*columns).where(*mine, which)) for which in _which(structures))
    return _gathered(survey, map(tuple, rows), structures)


def coverage_through(connection: Connection, nursery: int, surveys: Collection[str], hung: Hung) -> dict[str, Coverage]:
    """The coverage of one structure in each of these surveys, with every word."""
    structures = {hung.structure: hung}
    rows = connection.execute(
        select(col(FindingRow.survey), *_COLUMNS, col(FindingRow.slots)).where(
            col(FindingRow.nursery) == nursery,
            col(FindingRow.survey).in_(surveys),
            col(FindingRow.covered).is_not(None),
            *_which(structures),
        )
    )
    by_survey: defaultdict[str, list[tuple[Any, ...]]] = defaultdict(list)
    for survey, *row in rows:
        by_survey[survey].append(tuple(row))
    return {survey: _gathered(survey, by_survey[survey], structures)[hung.structure] for survey in surveys}


_COLUMNS: Final = (col(FindingRow.structure), col(FindingRow.subject), col(FindingRow.covered))


def _gathered(survey: str, rows: Iterable[tuple[Any, ...]], structures: Mapping[str, Hung]) -> dict[str, Coverage]:
    """Rows: structure, subject, how it was covered, and its slots where the words on it are wanted."""
    covered: dict[str, dict[str, str]] = {name: {} for name in structures}
    words: defaultdict[str, list[PageWord]] = defaultdict(list)
    for structure, subject, how, text in rows:
        on = covered.get(structure or "")
        if on is None:
            continue
        pages = _pages_of(subject, structures)
        on.update({page: how or "" for page in pages if how == "signed_off" or page not in on})
        said = _words(survey, subject, text) if text is not None else []
        for page in pages if said else ():
            words[page] += said
    return {
        name: Coverage(hung.pages, {page: words[page] for page in hung.pages if page in words}, covered[name])
        for name, hung in structures.items()
    }


def _pages_of(subject: str, structures: Mapping[str, Hung]) -> tuple[str, ...]:
    """The pages that a page's or a structure's finding speaks of."""
    sort, name = split_subject(subject)
    return structures[name].pages if sort == "structure" else (name,)


def _which(structures: Mapping[str, Hung]) -> tuple[ColumnElement[bool], ...]:
    """Few structures by their index; for many all pages of a survey, which lie together."""
    if len(structures) > 50:
        # No BETWEEN: PostgreSQL takes no order of letters within one, and this column has one.
        subject = col(FindingRow.subject)
        return tuple(and_(subject >= f"{sort}:", subject < f"{sort};") for sort in ("page", "structure"))
    return (and_(col(FindingRow.structure).in_(sorted(structures)), col(FindingRow.sort).in_(("page", "structure"))),)


def _words(survey: str, subject: str, slots: str) -> list[PageWord]:
    slot = load_finding(survey, subject, slots).slots["coverage"]
    name = split_subject(subject)[1]
    return [_word(entry_id, name, body) for entry_id, body in zip(slot.heads, slot.value, strict=True)]


def _word(entry_id: str, about: str, body: Mapping[str, Any]) -> PageWord:
    if "alive" in body:
        return PageWord(entry_id, about, (body["alive"], body["marked"], body["unseen"]))
    return PageWord(entry_id, about, None, body.get("reason"))
