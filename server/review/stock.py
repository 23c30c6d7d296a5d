"""What has become of the fragments of each genet."""

from collections import Counter
from collections.abc import Mapping
from typing import TypeAlias, cast

from sqlalchemy import Connection, func, select
from sqlmodel import col

from server.store.models import StandingRow
from server.store.states import STATES, State, state_of

__all__ = ["STATES", "State", "Survival", "state_of", "survival_by_genet"]

Survival: TypeAlias = Mapping[State, int]
"""state -> how many; those without any are left out."""


def survival_by_genet(connection: Connection, nursery: int) -> dict[str | None, Survival]:
    """genet -> what became of its fragments, as known now; None for those of no recorded genet."""
    fragments = (col(StandingRow.nursery) == nursery, col(StandingRow.sort) == "fragment")
    everybody = connection.execute(select(col(StandingRow.state), func.count()).where(*fragments).group_by(col(StandingRow.state)))
    others: Counter[State] = Counter({cast("State", state): many for state, many in everybody})
    # Two questions, as each has an index of its own that answers it.
    sort, state = col(StandingRow.sort), col(StandingRow.state)
    rows = connection.execute(
        select(col(StandingRow.genet), sort, state, func.count())
        .where(col(StandingRow.nursery) == nursery, col(StandingRow.genet).is_not(None))
        .group_by(col(StandingRow.genet), sort, state)
    )
    found: dict[str | None, Counter[State]] = {}
    for genet, what, became, many in rows:
        if what == "fragment":
            found.setdefault(genet, Counter())[cast("State", became)] += many
            others[cast("State", became)] -= many
    return {**found, None: +others} if +others else dict(found)
