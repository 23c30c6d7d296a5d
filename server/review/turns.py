"""The turns that fragments took: when each was hung, moved, found dead, not found, found again.

Most fragments hang where the first record put them and live: they took no turn. Only the others are folded, survey by
survey, so that a figure of a past survey is true to what was known by then of place and condition.
"""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple, TypeAlias

from sqlalchemy import Connection, and_, func, select
from sqlalchemy.orm import aliased
from sqlmodel import col

from server.review.facts_in_sql import found_value
from server.review.stock import State, state_of
from server.store.bulk import in_chunks
from server.store.models import FindingRow, StandingRow
from server.store.picked import SAYS_GONE, SAYS_PLACE

__all__ = ["Line", "Turn", "Turns", "place_before", "read_turns", "state_by"]

Rows: TypeAlias = list[tuple[Any, ...]]


class Turn(NamedTuple):
    """What a survey said of a fragment: where it was put, in what condition it was; None where it said nothing of that."""

    survey: str
    place: str | None
    status: str | None


Line: TypeAlias = tuple[Turn, ...]


@dataclass(frozen=True)
class Turns:
    """subject -> its turns, first survey first; `genets` names the genet of every fragment that has one.

    `quiet` counts by genet those that took none: in the nursery all along.
    """

    lines: Mapping[str, Line]
    genets: Mapping[str, str]
    quiet: Mapping[str | None, int]


def state_by(line: Line, survey: str, before: bool = False) -> State | None:
    """The state of a fragment by the end of a survey, or before it began; None where it was not heard of yet."""
    place, placed, status, looked = None, "", None, ""
    for turn in line:
        if turn.survey > survey or (before and turn.survey == survey):
            break
        if turn.place is not None:
            place, placed = turn.place, turn.survey
        if turn.status is not None:
            status, looked = turn.status, turn.survey
    if place is None and status is None:
        return None
    return state_of(place, placed, status, looked)


def place_before(line: Line, survey: str) -> str | None:
    """Where a fragment was put last before a survey."""
    return next((turn.place for turn in reversed(line) if turn.survey < survey and turn.place is not None), None)


def read_turns(connection: Connection, nursery: int) -> Turns:
    """Every fragment's turns."""
    said: defaultdict[str, dict[str, list[str | None]]] = defaultdict(dict)
    for subject, survey, place in _placed(connection, nursery):
        said[subject].setdefault(survey, [None, None])[0] = place
    for subject, survey, status in [
        *_gone(connection, nursery),
        *_found_again(connection, nursery),
        *_unplanted(connection, nursery),
    ]:
        said[subject].setdefault(survey, [None, None])[1] = status
    for subject, place in _first_places(connection, nursery, said):
        said[subject].setdefault("", [None, None])[0] = place
    lines = {subject: tuple(Turn(survey, *both) for survey, both in sorted(surveys.items())) for subject, surveys in said.items()}
    genets = _genets(connection, nursery)
    total = int(
        connection.execute(
            select(func.count())
            .select_from(StandingRow)
            .where(col(StandingRow.nursery) == nursery, col(StandingRow.sort) == "fragment")
        ).scalar_one()
    )
    return Turns(lines, genets, _quiet(lines, genets, total))


def _quiet(lines: Mapping[str, Line], genets: Mapping[str, str], total: int) -> dict[str | None, int]:
    quiet: Counter[str | None] = Counter(genets.values())
    quiet[None] = total - len(genets)
    quiet.subtract(Counter(genets.get(subject) for subject in lines))
    return {genet: many for genet, many in quiet.items() if many}


def _placed(connection: Connection, nursery: int) -> Rows:
    """Where surveys put fragments."""
    rows = connection.execute(
        select(col(FindingRow.subject), col(FindingRow.survey), found_value(connection, "place")).where(
            col(FindingRow.nursery) == nursery, col(FindingRow.sort) == "fragment", col(FindingRow.survey) > "", SAYS_PLACE
        )
    )
    return [tuple(row) for row in rows]


def _gone(connection: Connection, nursery: int) -> Rows:
    """When fragments were found dead, or were not found."""
    rows = connection.execute(
        select(col(FindingRow.subject), col(FindingRow.survey), col(FindingRow.status)).where(
            col(FindingRow.nursery) == nursery, col(FindingRow.sort) == "fragment", SAYS_GONE
        )
    )
    return [tuple(row) for row in rows]


def _found_again(connection: Connection, nursery: int) -> Rows:
    """What the next survey that looked found, after each time that a fragment was gone."""
    gone, later, between = FindingRow, aliased(FindingRow), aliased(FindingRow)
    following = (
        select(func.min(col(between.survey)))
        .where(
            col(between.nursery) == nursery,
            col(between.subject) == col(gone.subject),
            col(between.survey) > col(gone.survey),
            col(between.status).is_not(None),
        )
        .scalar_subquery()
    )
    rows = connection.execute(
        select(col(later.subject), col(later.survey), col(later.status))
        .join(gone, col(later.subject) == col(gone.subject))
        .where(
            col(gone.nursery) == nursery,
            col(gone.sort) == "fragment",
            SAYS_GONE,
            col(later.nursery) == nursery,
            col(later.survey) == following,
        )
    )
    return [tuple(row) for row in rows]


def _unplanted(connection: Connection, nursery: int) -> Rows:
    """All that was seen of fragments that nobody planted."""
    rows = connection.execute(
        select(col(FindingRow.subject), col(FindingRow.survey), col(FindingRow.status))
        .join(
            StandingRow,
            and_(col(StandingRow.nursery) == col(FindingRow.nursery), col(StandingRow.subject) == col(FindingRow.subject)),
        )
        .where(
            col(StandingRow.nursery) == nursery,
            col(StandingRow.sort) == "fragment",
            col(StandingRow.place).is_(None),
            col(FindingRow.status).is_not(None),
        )
    )
    return [tuple(row) for row in rows]


def _first_places(connection: Connection, nursery: int, turned: Collection[str]) -> Iterator[tuple[str, str | None]]:
    """Where the first record put those that took a turn, and those that it did not hang on a structure."""
    columns = (col(FindingRow.subject), found_value(connection, "place"))
    first = (col(FindingRow.nursery) == nursery, col(FindingRow.survey) == "", col(FindingRow.sort) == "fragment")
    for subject, place in connection.execute(select(*columns).where(*first, col(FindingRow.structure).is_(None), SAYS_PLACE)):
        yield subject, place
    for some in in_chunks(sorted(turned)):
        for subject, place in connection.execute(select(*columns).where(*first, col(FindingRow.subject).in_(some))):
            yield subject, place


def _genets(connection: Connection, nursery: int) -> dict[str, str]:
    rows = connection.execute(
        select(col(StandingRow.subject), col(StandingRow.genet)).where(
            col(StandingRow.nursery) == nursery, col(StandingRow.genet).is_not(None)
        )
    )
    return {subject: genet for subject, genet in rows if genet is not None}
