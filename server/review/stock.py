"""What has become of each fragment: still held, dead, lost, on the reef, or taken out.

Dead and lost are never one: a fragment found dead in place is dead, one that was not found may turn up again. One that
was found dead and then taken out counts as dead. On the reef it is the reef's, whatever is seen of it there.
"""

from collections import Counter
from collections.abc import Mapping
from typing import Final, Literal, TypeAlias, cast

from sqlalchemy import ColumnElement, Connection, and_, case, func, or_, select
from sqlmodel import col

from server.review.facts_in_sql import stood_since
from server.store.models import StandingRow

__all__ = ["STATES", "State", "Survival", "state_in_sql", "state_of", "survival_by_genet"]

State: TypeAlias = Literal["held", "dead", "lost", "outplanted", "removed"]
STATES: Final[tuple[State, ...]] = ("held", "dead", "lost", "outplanted", "removed")

Survival: TypeAlias = Mapping[State, int]
"""state -> how many; those without any are left out."""


def state_of(place: str | None, placed: str, status: str | None, looked: str) -> State:
    """The state of a fragment that is in `place` since survey `placed`, and was found in `status` in survey `looked`.

    One that was hung again after it was lost or dead is held again.
    """
    if place is not None and place.startswith("site:"):
        return "outplanted"
    if place == "removed":
        return "dead" if status == "dead" else "removed"
    if status in ("dead", "lost") and (place is None or looked >= placed):
        return cast("State", status)
    return "held"


def state_in_sql(connection: Connection) -> ColumnElement[str]:
    """The same of a row of `standing`."""
    place, status = col(StandingRow.place), col(StandingRow.status)
    gone = and_(
        status.in_(("dead", "lost")), or_(place.is_(None), col(StandingRow.status_survey) >= stood_since(connection, "place"))
    )
    return case(
        (place.like("site:%"), "outplanted"),
        (and_(place == "removed", status == "dead"), "dead"),
        (place == "removed", "removed"),
        (gone, status),
        else_="held",
    )


def survival_by_genet(connection: Connection, nursery: int) -> dict[str | None, Survival]:
    """genet -> what became of its fragments, as known now; None for those of no recorded genet."""
    state = state_in_sql(connection).label("state")
    rows = connection.execute(
        select(col(StandingRow.genet), state, func.count())
        .where(col(StandingRow.nursery) == nursery, col(StandingRow.sort) == "fragment")
        .group_by(col(StandingRow.genet), state)
    )
    found: dict[str | None, Counter[State]] = {}
    for genet, what, many in rows:
        found.setdefault(genet, Counter())[cast("State", what)] += many
    return dict(found)
