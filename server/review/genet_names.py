"""The names of the genets that are registered, for somebody to choose from."""

from sqlalchemy import select
from sqlmodel import col

from server.review.structures import natural
from server.store.engine import reading
from server.store.folding import load_standing
from server.store.models import StandingRow
from server.store.record import RecordStore
from shared_schema.discrepancies import registered
from shared_schema.ids import split_subject

__all__ = ["list_genet_names"]


def list_genet_names(store: RecordStore) -> list[str]:
    """All registered genets, as a person lists them."""
    with reading(store.engine) as connection:
        rows = connection.execute(
            select(col(StandingRow.subject), col(StandingRow.facts)).where(
                col(StandingRow.nursery) == store.nursery, col(StandingRow.sort) == "genet"
            )
        ).all()
    found = [load_standing(subject, facts) for subject, facts in rows]
    return sorted((split_subject(one.subject)[1] for one in found if registered(one)), key=natural)
