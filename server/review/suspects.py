"""The fragments whose rows could break a rule across slots. The database picks them: few of a nursery's rows are read.

Each function errs on the side of naming too many; the rules in shared_schema.discrepancies decide.
"""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from typing import Any

from sqlalchemy import ColumnElement, Connection, and_, exists, func, literal, or_, select
from sqlalchemy.orm import aliased
from sqlmodel import col

from server.review.facts_in_sql import stood_open, stood_since, stood_value
from server.review.turns import gone_among
from server.store.bulk import in_chunks
from server.store.models import FindingRow, StandingRow
from server.store.tags import tag_key
from shared_schema.designs import Design
from shared_schema.facts import LIVING
from shared_schema.fold import Finding, Slot
from shared_schema.ids import split_subject

__all__ = [
    "carrying",
    "descending_from_itself",
    "doubtful",
    "hanging_on_it",
    "in_the_place_of",
    "own_ancestors",
    "risen",
    "sharing_a_place",
    "sharing_a_tag",
    "with_the_tag_of",
]


def _fragments(nursery: int) -> ColumnElement[bool]:
    return and_(col(StandingRow.nursery) == nursery, col(StandingRow.sort) == "fragment")


def sharing_a_place(connection: Connection, nursery: int) -> set[str]:
    """Subjects of which another is said to be in the same position."""
    crowded = (
        select(col(StandingRow.place))
        .where(_fragments(nursery), col(StandingRow.structure).is_not(None))
        .group_by(col(StandingRow.place))
        .having(func.count() > 1)
    )
    return set(
        connection.execute(
            select(col(StandingRow.subject)).where(_fragments(nursery), col(StandingRow.place).in_(crowded))
        ).scalars()
    )


def sharing_a_tag(connection: Connection, nursery: int) -> set[str]:
    """Subjects of which another carries the same tag, look-alike letters taken as one."""
    mine = (col(StandingRow.nursery) == nursery, col(StandingRow.tag_key).is_not(None))
    twice = select(col(StandingRow.tag_key)).where(*mine).group_by(col(StandingRow.tag_key)).having(func.count() > 1)
    return set(connection.execute(select(col(StandingRow.subject)).where(*mine, col(StandingRow.tag_key).in_(twice))).scalars())


def carrying(connection: Connection, nursery: int, tags: Collection[str]) -> set[str]:
    """Subjects that carry one of these tags, look-alike letters taken as one."""
    alike = col(StandingRow.tag_key).in_({tag_key(tag) for tag in tags})
    return set(connection.execute(select(col(StandingRow.subject)).where(col(StandingRow.nursery) == nursery, alike)).scalars())


def doubtful(connection: Connection, nursery: int, designs: Mapping[str, Design]) -> set[str]:
    """Subjects whose place, genet or parent may not fit the rest of the record."""
    place, seen_at = col(StandingRow.place), stood_value(connection, "seen_at")
    other = aliased(StandingRow)
    genet = exists().where(
        col(other.nursery) == nursery,
        col(other.subject) == literal("genet:") + col(StandingRow.genet),
        col(other.facts).contains('"name":['),
    )
    parent = exists().where(
        col(other.nursery) == nursery,
        col(other.subject) == literal("fragment:") + col(StandingRow.parent),
        col(other.place).is_not(None),
    )
    found = connection.execute(
        select(col(StandingRow.subject)).where(
            _fragments(nursery),
            or_(
                place.is_(None),
                stood_open(connection, "place"),
                and_(seen_at != place, stood_since(connection, "seen_at") > stood_since(connection, "place")),
                and_(col(StandingRow.genet).is_not(None), ~genet),
                and_(col(StandingRow.parent).is_not(None), ~parent),
            ),
        )
    ).scalars()
    return {*found, *_off_the_design(connection, nursery, designs)}


def _off_the_design(connection: Connection, nursery: int, designs: Mapping[str, Design]) -> Iterator[str]:
    structure = col(StandingRow.structure)
    yield from connection.execute(
        select(col(StandingRow.subject)).where(_fragments(nursery), structure.is_not(None), structure.not_in(sorted(designs)))
    ).scalars()
    alike: defaultdict[Design, list[str]] = defaultdict(list)
    for name, design in designs.items():
        alike[design].append(name)
    path = func.substr(col(StandingRow.place), func.length(structure) + 2)
    for design, names in alike.items():
        paths = [position.path for position in design.positions]
        for some in in_chunks(names):
            yield from connection.execute(
                select(col(StandingRow.subject)).where(_fragments(nursery), structure.in_(some), path.not_in(paths))
            ).scalars()


def in_the_place_of(connection: Connection, nursery: int, subjects: Collection[str]) -> set[str]:
    """Subjects that are said to be in the same position as one of these, themselves included."""
    mine = select(col(StandingRow.place), col(StandingRow.structure)).where(
        col(StandingRow.nursery) == nursery, col(StandingRow.subject).in_(subjects)
    )
    places = [(place, structure) for place, structure in connection.execute(mine) if structure is not None]
    return {
        subject
        for some in in_chunks(places)
        for subject in connection.execute(
            select(col(StandingRow.subject)).where(
                _fragments(nursery),
                col(StandingRow.structure).in_({structure for _, structure in some}),
                col(StandingRow.place).in_({place for place, _ in some}),
            )
        ).scalars()
    }


def with_the_tag_of(connection: Connection, nursery: int, subjects: Collection[str]) -> set[str]:
    """Subjects that carry the same tag as one of these, themselves included."""
    mine = select(col(StandingRow.tag)).where(col(StandingRow.nursery) == nursery, col(StandingRow.subject).in_(subjects))
    tags = [tag for tag in connection.execute(mine).scalars() if tag is not None]
    return {subject for some in in_chunks(tags) for subject in carrying(connection, nursery, some)}


def hanging_on_it(
    connection: Connection, nursery: int, subjects: Collection[str], structures: Collection[str], genets: Collection[str]
) -> set[str]:
    """Subjects that one of these has a say in: what was cut from these, hangs on these structures, or is of these genets."""
    asked: tuple[tuple[Any, list[str]], ...] = (
        (col(StandingRow.parent), sorted(split_subject(subject)[1] for subject in subjects)),
        (col(StandingRow.structure), sorted(structures)),
        (col(StandingRow.genet), sorted(genets)),
    )
    return {
        subject
        for column, names in asked
        for some in in_chunks(names)
        for subject in connection.execute(
            select(col(StandingRow.subject)).where(col(StandingRow.nursery) == nursery, column.in_(some))
        ).scalars()
        if subject.startswith("fragment:")
    }


def own_ancestors(connection: Connection, nursery: int) -> set[str]:
    """Subjects that descend from themselves: each must have both a parent and a cutting, so only mothers are read."""
    child = aliased(StandingRow)
    mothers = connection.execute(
        select(col(StandingRow.subject), col(StandingRow.parent)).where(
            _fragments(nursery),
            col(StandingRow.parent).is_not(None),
            exists().where(
                col(child.nursery) == nursery,
                col(child.parent) == func.substr(col(StandingRow.subject), len("fragment:") + 1),
            ),
        )
    )
    parents = {split_subject(subject)[1]: parent for subject, parent in mothers}
    return descending_from_itself(parents)


def descending_from_itself(parents: Mapping[str, str | None]) -> set[str]:
    """Subjects of these fragments that are met again on the way from child to parent."""
    return {f"fragment:{name}" for name in parents if _meets_itself(name, parents)}


def _meets_itself(name: str, parents: Mapping[str, str | None]) -> bool:
    met: set[str] = set()
    above = parents.get(name)
    while above is not None and above not in met:
        if above == name:
            return True
        met.add(above)
        above = parents.get(above)
    return False


def risen(connection: Connection, nursery: int, subjects: Collection[str] | None = None) -> dict[str, list[Finding]]:
    """subject -> when it was found dead, and when it was next found alive: all that tells whether it rose, by condition only.

    Of all fragments, or of few.
    """
    died, later, between = FindingRow, aliased(FindingRow), aliased(FindingRow)
    following = (
        select(func.min(col(between.survey)))
        .where(
            col(between.nursery) == nursery,
            col(between.subject) == col(died.subject),
            col(between.survey) > col(died.survey),
            col(between.status).in_(sorted(LIVING)),
        )
        .scalar_subquery()
    )
    rows = connection.execute(
        select(col(died.subject), col(died.survey), col(later.survey), col(later.status))
        .join(later, col(later.subject) == col(died.subject))
        .where(
            *gone_among(nursery, subjects),
            col(died.status) == "dead",
            col(later.nursery) == nursery,
            col(later.survey) == following,
        )
    )
    found: defaultdict[str, dict[str, str | None]] = defaultdict(dict)
    for subject, dead_in, lives_in, status in rows:
        found[subject] |= {dead_in: "dead", lives_in: status}
    return {
        subject: [Finding(survey, subject, {"status": Slot(status, (), (), ruled=False)}) for survey, status in surveys.items()]
        for subject, surveys in found.items()
    }
