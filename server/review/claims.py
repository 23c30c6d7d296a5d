"""Who is at which question: a courtesy between people who work at once, and no lock. It is no part of the record.

A browser is at one question at a time. Being at it ends by itself after a few minutes, on leaving, and with an answer.
"""

from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from sqlalchemy import Connection, delete, select
from sqlmodel import col

from server.review.questions import Key
from server.store.bulk import upsert_rows
from server.store.engine import reading, writing
from server.store.office_tables import ClaimRow
from server.store.record import RecordStore

__all__ = ["LASTS", "Claim", "claim", "claims_in", "let_go", "read_claims"]

LASTS: Final = timedelta(minutes=5)
"""After the last sign of life at a question."""
_FRESH: Final = timedelta(seconds=30)
"""A sign of life that comes sooner after another is not written down."""


@dataclass(frozen=True, slots=True)
class Claim:
    """Somebody is at a question, in a session, since a moment (milliseconds since 1970 UTC)."""

    session: str
    person: str
    key: Key
    since_ms: int


def claim(store: RecordStore, session: str, person: str, key: Key) -> None:
    """Say that somebody is at a question now, and at no other in that session."""
    now = _now(store)
    with writing(store.engine) as connection:
        held = connection.execute(
            select(ClaimRow.__table__).where(  # type: ignore[attr-defined]
                col(ClaimRow.nursery) == store.nursery, col(ClaimRow.session) == session
            )
        ).one_or_none()
        since = now
        if held is not None and held.until >= now and (held.survey, held.subject, held.fact) == _name(key):
            if held.until > now + _ms(LASTS - _FRESH):
                return
            since = held.since
        connection.execute(delete(ClaimRow).where(col(ClaimRow.nursery) == store.nursery, col(ClaimRow.until) < now))
        upsert_rows(connection, ClaimRow, [(store.nursery, session, person, *_name(key), since, now + _ms(LASTS))])


def let_go(store: RecordStore, session: str, key: Key) -> None:
    """Say that whoever is in that session left a question; where they are at another by now, they stay there."""
    which = [col(ClaimRow.nursery) == store.nursery, col(ClaimRow.session) == session]
    which += [col(ClaimRow.survey) == key.survey, col(ClaimRow.subject) == key.subject, col(ClaimRow.fact) == key.fact]
    with writing(store.engine) as connection:
        connection.execute(delete(ClaimRow).where(*which))


def read_claims(store: RecordStore) -> tuple[Claim, ...]:
    """Who is at which question now, by whoever came first."""
    with reading(store.engine) as connection:
        return claims_in(connection, store)


def claims_in(connection: Connection, store: RecordStore) -> tuple[Claim, ...]:
    """The same within a transaction."""
    rows = connection.execute(
        select(ClaimRow.__table__)  # type: ignore[attr-defined]
        .where(col(ClaimRow.nursery) == store.nursery, col(ClaimRow.until) >= _now(store))
        .order_by(col(ClaimRow.since), col(ClaimRow.session))
    )
    return tuple(Claim(row.session, row.person, Key(row.survey, row.subject, row.fact), row.since) for row in rows)


def _name(key: Key) -> tuple[str, str, str]:
    return key.survey, key.subject, key.fact


def _now(store: RecordStore) -> int:
    return int(store.clock().timestamp() * 1000)


def _ms(lasts: timedelta) -> int:
    return int(lasts.total_seconds() * 1000)
