"""Find something by what a person remembers of it: a tag, a name, a place, a day.

Capitals do not matter. Of each sort the exact ones come first and at most MOST are given; `more` says that there are others.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from sqlalchemy import Connection, func, select
from sqlmodel import col

from server.review.calendar import plans_in
from server.review.fragment_names import fragments_called
from server.review.structures import natural, structures_in
from server.store.engine import reading
from server.store.folding import load_standing
from server.store.models import EntryRow, StandingRow
from server.store.record import RecordStore
from server.store.tags import tag_key
from shared_schema.errors import BadId, NothingSuch
from shared_schema.ids import parse_address, parse_entry_id, parse_tag, split_subject

__all__ = ["MOST", "Found", "Group", "Hit", "Sort", "search"]

MOST: Final = 20

Sort: TypeAlias = Literal["tag", "fragment", "genet", "person", "structure", "position", "survey", "site", "entry"]


@dataclass(frozen=True, slots=True)
class Hit:
    """One thing found. `subject` as entries name it; `detail` tells it from others alike; `survey` of an entry's group."""

    subject: str
    detail: str = ""
    survey: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """What was found of one sort."""

    sort: Sort
    hits: tuple[Hit, ...]
    more: bool = False


@dataclass(frozen=True, slots=True)
class Found:
    """What was found for a text. `tag` is the code that it was read as; `misread`: it has a tag's form, and cannot be one."""

    text: str
    groups: tuple[Group, ...]
    tag: str | None = None
    misread: bool = False


def search(store: RecordStore, text: str) -> Found:
    """Everything that the text may mean. An empty text finds nothing."""
    wanted = " ".join(text.split())
    if not wanted:
        return Found("", ())
    tag = _as_tag(wanted)
    with reading(store.engine) as connection:
        nursery = store.nursery
        groups = [
            _tags(connection, nursery, wanted, tag),
            _fragments(connection, nursery, wanted),
            _positions(connection, nursery, wanted),
            _structures(connection, nursery, wanted),
            _named(connection, nursery, wanted, "genet", ("name", "species", "accession", "donor")),
            _named(connection, nursery, wanted, "person", ("name",)),
            _surveys(connection, nursery, wanted),
            _sites(connection, nursery, wanted),
            _entries(connection, nursery, wanted),
        ]
    found = tuple(group for group in groups if group.hits)
    misread = tag is None and not found and re.fullmatch(r"[0-9A-Za-z]{3,8}[\s-][0-9A-Za-z]", wanted) is not None
    return Found(wanted, found, tag, misread)


def _as_tag(text: str) -> str | None:
    try:
        return parse_tag(text)
    except BadId:
        return None


def _group(sort: Sort, hits: Iterable[Hit], text: str) -> Group:
    ordered = sorted(hits, key=lambda hit: (split_subject(hit.subject)[1].lower() != text.lower(), natural(hit.subject)))
    return Group(sort, tuple(ordered[:MOST]), len(ordered) > MOST)


def _tags(connection: Connection, nursery: int, text: str, tag: str | None) -> Group:
    """Tags with a check character however they were typed; any other tag by its letters."""
    rows = connection.execute(
        select(col(StandingRow.subject), col(StandingRow.tag), col(StandingRow.place)).where(
            col(StandingRow.nursery) == nursery,
            col(StandingRow.tag_key).in_({tag_key(text)} if tag is None else {tag_key(tag)}),
        )
    ).all()
    if tag is None:
        rows = [row for row in rows if (row.tag or "").upper() == text.upper()]
    return _group(
        "tag", [Hit(subject, " · ".join(part for part in (carried, place) if part)) for subject, carried, place in rows], text
    )


def _fragments(connection: Connection, nursery: int, text: str) -> Group:
    """By a part of the name; those that begin with it first, where there are many."""
    found = fragments_called(connection, nursery, text, MOST + 1)
    places = connection.execute(
        select(col(StandingRow.subject), col(StandingRow.place)).where(
            col(StandingRow.nursery) == nursery, col(StandingRow.subject).in_(found)
        )
    )
    return _group("fragment", [Hit(subject, place or "") for subject, place in places], text)


def _named(connection: Connection, nursery: int, text: str, sort: Literal["genet", "person"], facts: Sequence[str]) -> Group:
    rows = connection.execute(
        select(col(StandingRow.subject), col(StandingRow.facts)).where(
            col(StandingRow.nursery) == nursery, col(StandingRow.sort) == sort
        )
    )
    hits = []
    for subject, body in rows:
        name, standing = split_subject(subject)[1], load_standing(subject, body)
        said = [str(standing.value(fact)) for fact in facts if standing.value(fact) is not None]
        if any(text.lower() in part.lower() for part in (name, *said)):
            hits.append(Hit(subject, " · ".join(part for part in said if part != name)))
    return _group(sort, hits, text)


def _structures(connection: Connection, nursery: int, text: str) -> Group:
    hits = []
    for name, hung in structures_in(connection, nursery).items():
        said = [part for part in (hung.name, hung.location) if part]
        if any(text.lower() in part.lower() for part in (name, *said)):
            hits.append(Hit(f"structure:{name}", " · ".join(part for part in said if part != name)))
    return _group("structure", hits, text)


def _positions(connection: Connection, nursery: int, text: str) -> Group:
    """An address, capitals forgiven, blanks for the stroke and dots too: t07 3 2 4."""
    match = re.fullmatch(r"(\S+?)[\s/]+(\d+(?:[\s.]+\d+){1,3})", text)
    if match is None:
        return Group("position", ())
    for name, hung in structures_in(connection, nursery).items():
        if name.lower() == match[1].lower() and hung.design is not None:
            address = f"{name}/{re.sub(r'[^0-9]+', '.', match[2])}"
            try:
                hung.design.position(parse_address(address).path)
            except (BadId, NothingSuch):
                return Group("position", ())
            return Group("position", (Hit(f"position:{address}", hung.location or ""),))
    return Group("position", ())


def _surveys(connection: Connection, nursery: int, text: str) -> Group:
    hits = [
        Hit(f"survey:{survey}", plan.name or "")
        for survey, plan in plans_in(connection, nursery).items()
        if any(text.lower() in part.lower() for part in (survey, plan.name or "", plan.opens or ""))
    ]
    return _group("survey", hits, text)


def _sites(connection: Connection, nursery: int, text: str) -> Group:
    """Places on the reef, by how many fragments are there."""
    name = func.lower(col(StandingRow.place))
    rows = connection.execute(
        select(col(StandingRow.place), func.count())
        .where(
            col(StandingRow.nursery) == nursery,
            col(StandingRow.sort) == "fragment",
            col(StandingRow.state) == "outplanted",
            name.contains(text.lower(), autoescape=True),
        )
        .group_by(col(StandingRow.place))
        .limit(MOST + 1)
    )
    return _group("site", [Hit(place, str(many)) for place, many in rows if place], text)


def _entries(connection: Connection, nursery: int, text: str) -> Group:
    try:
        writer, number = parse_entry_id(text.lower())
    except BadId:
        return Group("entry", ())
    row = connection.execute(
        select(col(EntryRow.subject), col(EntryRow.survey)).where(
            col(EntryRow.nursery) == nursery,
            col(EntryRow.writer) == writer,
            col(EntryRow.number) == number,
            col(EntryRow.set_aside).is_(None),
        )
    ).one_or_none()
    return Group("entry", () if row is None else (Hit(row.subject, text.lower(), row.survey),))
