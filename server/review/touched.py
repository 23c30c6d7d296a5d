"""What new entries speak of: the fragments, and the structures on which their word can change what is shown."""

import re
from collections.abc import Collection, Iterable, Iterator
from typing import Final, NamedTuple

from pydantic_core import from_json, to_json
from sqlalchemy import Connection, select
from sqlmodel import col

from server.store.bulk import in_chunks
from server.store.models import EntryRow, FindingRow, StandingRow
from shared_schema.ids import Heads, split_subject

__all__ = ["Touched", "touched_between"]

_MOST: Final = 5_000
"""With more new entries than this, working everything out anew is the quicker way."""

_ADDRESS: Final = re.compile(rb'"([^"/\\]{1,48})/')
"""The beginning of a text that may be an address."""


class Touched(NamedTuple):
    """What entries are about, and the `fragments` among that.

    `structures`: where these hang, hung or were seen by any word on them, and others spoken of.
    """

    subjects: frozenset[str]
    fragments: frozenset[str]
    structures: frozenset[str]


def touched_between(connection: Connection, nursery: int, before: Heads, now: Heads) -> Touched | None:
    """What the entries speak of that `now` holds and `before` does not; None where these are too many, or fewer than before."""
    if any(now.get(writer, 0) < head for writer, head in before.items()):
        return None
    grown = {writer: before.get(writer, 0) for writer, head in now.items() if head > before.get(writer, 0)}
    if sum(now[writer] - after for writer, after in grown.items()) > _MOST:
        return None
    groups: set[tuple[str, str]] = set()
    for writer, after in grown.items():
        rows = connection.execute(
            select(col(EntryRow.survey), col(EntryRow.subject))
            .where(
                col(EntryRow.nursery) == nursery,
                col(EntryRow.writer) == writer,
                col(EntryRow.number) > after,
                col(EntryRow.number) <= now[writer],
            )
            .distinct()
        )
        groups.update((survey, subject) for survey, subject in rows)
    subjects = frozenset(subject for _, subject in groups)
    fragments = frozenset(subject for subject in subjects if subject.startswith("fragment:"))
    structures = {*_named_by(subjects), *_on_record(connection, nursery, fragments), *_as_written(connection, nursery, groups)}
    return Touched(subjects, fragments, frozenset(structures))


def _named_by(subjects: Iterable[str]) -> Iterator[str]:
    """The structures in the names of positions, pages and structures."""
    for subject in subjects:
        sort, name = split_subject(subject)
        if sort in ("position", "page", "structure"):
            yield name.partition("/")[0]


def _on_record(connection: Connection, nursery: int, fragments: Collection[str]) -> Iterator[str]:
    """Where the read tables say that these fragments are or were."""
    for some in in_chunks(sorted(fragments)):
        for table in (StandingRow, FindingRow):
            there = select(col(table.structure)).where(
                col(table.nursery) == nursery, col(table.subject).in_(some), col(table.structure).is_not(None)
            )
            yield from (structure for structure in connection.execute(there.distinct()).scalars() if structure is not None)


def _as_written(connection: Connection, nursery: int, groups: Iterable[tuple[str, str]]) -> Iterator[str]:
    """What all entries of these groups say, those that no longer count too: a new one may have made them so."""
    by_survey: dict[str, list[str]] = {}
    for survey, subject in groups:
        if subject.startswith("fragment:"):
            by_survey.setdefault(survey, []).append(subject)
    for survey, subjects in by_survey.items():
        for some in in_chunks(sorted(subjects)):
            raw = select(col(EntryRow.raw)).where(
                col(EntryRow.nursery) == nursery,
                col(EntryRow.survey) == survey,
                col(EntryRow.subject).in_(some),
                col(EntryRow.set_aside).is_(None),
            )
            yield from _named_in(connection.execute(raw).scalars())


def _named_in(lines: Iterable[bytes]) -> set[str]:
    """Every structure that a text of an entry may name as the beginning of an address; free words may name too many."""
    text = b"\n".join(to_json(from_json(line)) if rb"\u" in line else line for line in lines)
    return {name.decode() for name in set(_ADDRESS.findall(text))}
