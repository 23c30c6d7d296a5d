"""The trail: who let whom in or out, when and from where. What was said of corals is in the record itself."""

import secrets
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from sqlalchemy import Connection, func, select
from sqlmodel import col

from server.store.engine import reading
from server.store.office_tables import TrailRow
from server.store.record import RecordStore

__all__ = ["COMMAND_LINE", "STRANGER", "Actor", "Deed", "Done", "count_trail", "note", "read_trail"]

Deed: TypeAlias = Literal[
    "signed_in",
    "sign_in_refused",
    "signed_out",
    "session_ended",
    "invited",
    "first_made",
    "password_link_made",
    "sign_in_link_made",
    "password_set",
    "password_changed",
    "role_changed",
    "closed",
    "opened_again",
    "code_made",
    "tablet_enrolled",
    "tablet_withdrawn",
    "tablet_let_in",
]


@dataclass(frozen=True, slots=True)
class Actor:
    """Who does something, by their person id, and the network address that it comes from."""

    person: str
    address: str = ""


COMMAND_LINE: Final = Actor("")
"""Whoever may type commands on the server."""
STRANGER: Final = "?"
"""Stands for a person id where nobody knows who it was."""


@dataclass(frozen=True, slots=True)
class Done:
    """One line of the trail. `about` is a person id or a tablet; `at_ms` milliseconds since 1970 UTC."""

    at_ms: int
    who: str
    what: str
    about: str
    detail: str
    address: str


def note(connection: Connection, store: RecordStore, actor: Actor, what: Deed, about: str = "", detail: str = "") -> None:
    """Add a line, in the transaction that does what it tells of."""
    at = int(store.clock().timestamp() * 1000)
    row = TrailRow(
        nursery=store.nursery,
        id=f"{at:015}-{secrets.token_hex(4)}",
        at=at,
        who=actor.person,
        what=what,
        about=about,
        detail=detail,
        address=actor.address,
    )
    connection.execute(TrailRow.__table__.insert().values(**row.model_dump()))  # type: ignore[attr-defined]


def count_trail(store: RecordStore) -> int:
    """How many lines there are."""
    with reading(store.engine) as connection:
        return connection.execute(
            select(func.count()).select_from(TrailRow).where(col(TrailRow.nursery) == store.nursery)
        ).scalar_one()


def read_trail(store: RecordStore, first: int, limit: int) -> list[Done]:
    """Lines, newest first, from the one with index `first` on."""
    with reading(store.engine) as connection:
        rows = connection.execute(
            select(TrailRow.__table__)  # type: ignore[attr-defined]
            .where(col(TrailRow.nursery) == store.nursery)
            .order_by(col(TrailRow.id).desc())
            .offset(first)
            .limit(limit)
        ).all()
    return [Done(row.at, row.who, row.what, row.about, row.detail, row.address) for row in rows]
