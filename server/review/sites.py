"""Sites on the reef, and what was brought there."""

from dataclasses import dataclass

from sqlalchemy import func, select
from sqlmodel import col

from server.store.engine import reading
from server.store.models import StandingRow
from server.store.record import RecordStore
from shared_schema.errors import NothingSuch

__all__ = ["Brought", "read_site"]


@dataclass(frozen=True, slots=True)
class Brought:
    """A fragment on the reef, its genet, and the survey in which it was brought there ("" outside any)."""

    subject: str
    genet: str | None
    since: str


def read_site(store: RecordStore, site: str, first: int, limit: int) -> tuple[list[Brought], int]:
    """Fragments at a site by name, from `first` (counted from 0), and how many there are. Raises NothingSuch."""
    there = (
        col(StandingRow.nursery) == store.nursery,
        col(StandingRow.sort) == "fragment",
        col(StandingRow.state) == "outplanted",
        col(StandingRow.place) == f"site:{site}",
    )
    with reading(store.engine) as connection:
        total = int(connection.execute(select(func.count()).select_from(StandingRow).where(*there)).scalar_one())
        rows = connection.execute(
            select(col(StandingRow.subject), col(StandingRow.genet), col(StandingRow.place_survey))
            .where(*there)
            .order_by(col(StandingRow.subject))
            .offset(first)
            .limit(limit)
        ).all()
    if not total:
        raise NothingSuch("nothing was brought to a site %(site)r, as far as the record knows", site=site)
    return [Brought(subject, genet, since or "") for subject, genet, since in rows], total
