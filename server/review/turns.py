"""The turns that fragments took: when each was hung, moved, found dead, not found, found again.

Most fragments hang where the first record put them and live: they took no turn, and are not read at all. The others have
few turns each, whatever the number of surveys, and partial indexes find these.
"""

from collections import defaultdict
from collections.abc import Collection, Iterator
from typing import Any, NamedTuple, TypeAlias

from sqlalchemy import ColumnElement, Connection, and_, func, select
from sqlalchemy.orm import aliased
from sqlmodel import col

from server.review.stock import State, state_of
from server.store.bulk import in_chunks
from server.store.models import FindingRow, StandingRow
from server.store.picked import SAYS_GONE, SAYS_PLACE, says_place
from shared_schema.ids import structure_of_place

__all__ = ["SOMEWHERE", "Line", "Turn", "gone_among", "read_lines", "read_lines_of", "state_by"]

SOMEWHERE = "?/0"
"""Stands for a place on a structure in the first record, where it does not matter which."""


class Turn(NamedTuple):
    """What a survey said of a fragment: where it was put, in what condition it was; None where it said nothing of that."""

    survey: str
    place: str | None
    status: str | None


Line: TypeAlias = tuple[Turn, ...]
Said: TypeAlias = defaultdict[str, dict[str, list[str | None]]]
Rows: TypeAlias = Iterator[tuple[Any, ...]]


def state_by(line: Line, survey: str, before: bool = False) -> State | None:
    """The state of a fragment by the end of a survey, or before it began; None where nobody had planted it yet."""
    place, placed, status, looked = None, "", None, ""
    for turn in line:
        if turn.survey > survey or (before and turn.survey == survey):
            break
        if turn.place is not None:
            place, placed = turn.place, turn.survey
        if turn.status is not None:
            status, looked = turn.status, turn.survey
    return None if place is None else state_of(place, placed, status, looked)


def read_lines(connection: Connection, nursery: int) -> dict[str, Line]:
    """subject -> its turns, first survey first, for every fragment that took one."""
    said: Said = defaultdict(dict)
    _note(said, 0, _placed(connection, nursery, and_(col(FindingRow.survey) > "", SAYS_PLACE)))
    _note(said, 1, _gone(connection, nursery))
    _note(said, 1, _found_again(connection, nursery))
    _note(said, 1, _unplanted(connection, nursery))
    _hang_first(connection, nursery, said)
    return _lines(said)


def read_lines_of(connection: Connection, nursery: int, subjects: Collection[str]) -> dict[str, Line]:
    """The same of these fragments; those without a turn are left out."""
    said: Said = defaultdict(dict)
    for some in in_chunks(sorted(subjects)):
        still, moved, nowhere = _since_first_put(connection, nursery, some)
        _note(said, 0, ((subject, "", place) for subject, place in still))
        if moved:
            _note(said, 0, _placed(connection, nursery, _one_of(moved)))
        _note(said, 1, _gone(connection, nursery, some))
        if nowhere:
            _note(said, 1, _unplanted(connection, nursery, nowhere))
    for some in in_chunks([subject for subject, surveys in said.items() if any(both[1] for both in surveys.values())]):
        _note(said, 1, _found_again(connection, nursery, some))
    quiet = [
        subject
        for subject, surveys in said.items()
        if surveys.keys() == {""} and surveys[""][1] is None and structure_of_place(surveys[""][0] or "") is not None
    ]
    for subject in quiet:
        del said[subject]
    return _lines(said)


def gone_among(nursery: int, subjects: Collection[str] | None) -> tuple[ColumnElement[bool], ...]:
    """Conditions on findings: dead or lost, of all fragments or of some, of which an index tells it without their rows."""
    if subjects is None:
        return _mine(nursery, SAYS_GONE)
    return col(FindingRow.nursery) == nursery, col(FindingRow.subject).in_(subjects), SAYS_GONE


def _lines(said: Said) -> dict[str, Line]:
    return {subject: tuple(Turn(survey, *surveys[survey]) for survey in sorted(surveys)) for subject, surveys in said.items()}


def _note(said: Said, part: int, rows: Rows) -> None:
    for subject, survey, value in rows:
        said[subject].setdefault(survey, [None, None])[part] = value


def _mine(nursery: int, *more: ColumnElement[bool]) -> tuple[ColumnElement[bool], ...]:
    return col(FindingRow.nursery) == nursery, col(FindingRow.sort) == "fragment", *more


def _one_of(subjects: Collection[str]) -> ColumnElement[bool]:
    """Fragments that are looked up each by its key; the index of all that were put somewhere serves no few of them."""
    return and_(col(FindingRow.subject).in_(subjects), says_place(col(FindingRow.slots)))


def _placed(connection: Connection, nursery: int, which: ColumnElement[bool]) -> Rows:
    """Where surveys put fragments; `which` says that they do, as the index or as the key has it."""
    columns = (col(FindingRow.subject), col(FindingRow.survey), col(FindingRow.place))
    return map(tuple, connection.execute(select(*columns).where(*_mine(nursery, which))))


def _since_first_put(
    connection: Connection, nursery: int, subjects: Collection[str]
) -> tuple[list[tuple[str, str]], list[str], list[str]]:
    """Those that no survey put elsewhere since the first record did, and where; those that one did; those that nobody put."""
    rows = connection.execute(
        select(col(StandingRow.subject), col(StandingRow.place), col(StandingRow.place_survey)).where(
            col(StandingRow.nursery) == nursery, col(StandingRow.subject).in_(subjects)
        )
    ).all()
    still = [(subject, place) for subject, place, since in rows if place is not None and not since]
    return still, [subject for subject, _, since in rows if since], [subject for subject, place, _ in rows if place is None]


def _gone(connection: Connection, nursery: int, subjects: Collection[str] | None = None) -> Rows:
    """When fragments were found dead, or were not found."""
    columns = (col(FindingRow.subject), col(FindingRow.survey), col(FindingRow.status))
    return map(tuple, connection.execute(select(*columns).where(*gone_among(nursery, subjects))))


def _found_again(connection: Connection, nursery: int, subjects: Collection[str] | None = None) -> Rows:
    """What the next survey that looked found, after each time that a fragment was gone."""
    later, between = aliased(FindingRow), aliased(FindingRow)
    following = (
        select(func.min(col(between.survey)))
        .where(
            col(between.nursery) == nursery,
            col(between.subject) == col(FindingRow.subject),
            col(between.survey) > col(FindingRow.survey),
            col(between.status).is_not(None),
        )
        .scalar_subquery()
    )
    return map(
        tuple,
        connection.execute(
            select(col(later.subject), col(later.survey), col(later.status))
            .join(FindingRow, col(later.subject) == col(FindingRow.subject))
            .where(*gone_among(nursery, subjects), col(later.nursery) == nursery, col(later.survey) == following)
        ),
    )


def _unplanted(connection: Connection, nursery: int, subjects: Collection[str] | None = None) -> Rows:
    """All that was seen of fragments that nobody planted: they are no part of the stock, and their lines say so.

    `subjects`: such fragments, where they are known.
    """
    nowhere: Any = subjects or select(col(StandingRow.subject)).where(
        col(StandingRow.nursery) == nursery, col(StandingRow.sort) == "fragment", col(StandingRow.place).is_(None)
    )
    which = col(FindingRow.subject).in_(nowhere)
    columns = (col(FindingRow.subject), col(FindingRow.survey), col(FindingRow.status))
    rows = select(*columns).where(*_mine(nursery, which, col(FindingRow.status).is_not(None)))
    return map(tuple, connection.execute(rows))


def _hang_first(connection: Connection, nursery: int, said: Said) -> None:
    """Where the first record put those that took a turn; exactly where only if they were put on a structure again."""
    first = _mine(nursery, col(FindingRow.survey) == "")
    hung = connection.execute(select(col(FindingRow.subject)).where(*first, col(FindingRow.structure).is_not(None))).scalars()
    for subject in said.keys() & set(hung):
        said[subject].setdefault("", [None, None])[0] = SOMEWHERE
    _note(
        said, 0, _placed(connection, nursery, and_(col(FindingRow.survey) == "", col(FindingRow.structure).is_(None), SAYS_PLACE))
    )
    moved = [
        subject
        for subject, surveys in said.items()
        if "" in surveys and any(structure_of_place(both[0] or "") for survey, both in surveys.items() if survey)
    ]
    for some in in_chunks(moved):
        _note(said, 0, _placed(connection, nursery, and_(col(FindingRow.survey) == "", _one_of(some))))
