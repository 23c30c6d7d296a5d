"""Which tablets may talk to the record: one-time codes enrol them, tokens name them, a supervisor can withdraw them.

Codes and tokens are random and kept as SHA-256 only: there is nothing to guess slowly, so a slow hash would add nothing.
"""

import hashlib
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final, TypeAlias

from sqlalchemy import Connection, Row, select, update
from sqlmodel import col

from server.store.engine import reading, writing
from server.store.models import CodeRow, WriterRow
from server.store.record import RecordStore
from shared_schema.errors import NotAllowed, NothingSuch, SpentCode
from shared_schema.ids import TAG_ALPHABET, check_character, new_writer, parse_tag

__all__ = [
    "CODE_LASTS",
    "Credentials",
    "Tablet",
    "enrol",
    "let_in_again",
    "list_tablets",
    "new_code",
    "new_identity",
    "note_contact",
    "who_holds",
    "withdraw",
]

CODE_LASTS: Final = timedelta(hours=72)


@dataclass(frozen=True, slots=True)
class Credentials:
    """What a tablet is given: its writer id and its token, which nobody can read again."""

    writer: str
    token: str


@dataclass(frozen=True, slots=True)
class Tablet:
    """A tablet as the office sees it.

    Times are milliseconds since 1970 UTC, 0 for never; `waiting` entries were not sent when it was last heard of; its
    clock was `clock_off_s` seconds ahead of the server's.
    """

    writer: str
    name: str
    head: int
    enrolled_ms: int
    seen_ms: int
    clock_off_s: int
    program: str
    waiting: int
    withdrawn: bool
    withdrawn_ms: int = 0
    withdrawn_why: str = ""


Also: TypeAlias = Callable[[Connection, str], None]
"""What else to do in the same transaction, told the tablet's id."""


def _nothing(_: Connection, __: str) -> None:
    return


def new_code(store: RecordStore, also: Also = _nothing) -> tuple[str, datetime]:
    """A one-time code that enrols one tablet, and until when it can be used. Its last character checks the others."""
    body = "".join(secrets.choice(TAG_ALPHABET) for _ in range(9))
    code = body + check_character(body)
    until = store.clock() + CODE_LASTS
    with writing(store.engine) as connection:
        values = {"code_hash": _hash(code), "nursery": store.nursery, "expires": _ms(until)}
        connection.execute(CodeRow.__table__.insert().values(**values))  # type: ignore[attr-defined]
        also(connection, "")
    return f"{code[:5]}-{code[5:]}", until


def enrol(store: RecordStore, code: str, name: str, also: Also = _nothing) -> Credentials:
    """Spend a code. Raises NotAllowed for one that is unknown, SpentCode for one that was used or is too old."""
    try:
        clean = parse_tag(code).replace("-", "")
    except ValueError as error:
        raise NotAllowed("code %(code)r has a slip in it: compare it with what the supervisor gave you", code=code) from error
    with writing(store.engine) as connection:
        found = connection.execute(
            select(CodeRow.__table__).where(col(CodeRow.code_hash) == _hash(clean)).with_for_update()  # type: ignore[attr-defined]
        ).one_or_none()
        if found is None or found.nursery != store.nursery:
            raise NotAllowed("code %(code)r is not known here: ask the supervisor for one", code=code)
        if found.used_by is not None:
            raise SpentCode(
                "code %(code)r was used already, by %(tablet)s: each code enrols one tablet; ask for another",
                code=code,
                tablet=found.used_by,
            )
        if found.expires < _ms(store.clock()):
            raise SpentCode("code %(code)r is too old: ask the supervisor for a new one", code=code)
        made = _new_tablet(store, connection, name)
        connection.execute(update(CodeRow).where(col(CodeRow.code_hash) == _hash(clean)).values(used_by=made.writer))
        also(connection, made.writer)
    return made


def new_identity(store: RecordStore, writer: str) -> Credentials:
    """A fresh identity for a tablet that found itself cloned or restored. Its old one stays as it is, for the other copy."""
    with writing(store.engine) as connection:
        old = connection.execute(
            select(col(WriterRow.name)).where(col(WriterRow.nursery) == store.nursery, col(WriterRow.writer) == writer)
        )
        return _new_tablet(store, connection, f"{old.scalar_one()} (again)")


def who_holds(store: RecordStore, token: str) -> str:
    """The writer id that a token stands for. Raises NotAllowed where it is unknown or withdrawn."""
    with reading(store.engine) as connection:
        found = connection.execute(
            select(col(WriterRow.writer), col(WriterRow.nursery), col(WriterRow.withdrawn)).where(
                col(WriterRow.token_hash) == _hash(token)
            )
        ).one_or_none()
    if found is None or found.nursery != store.nursery:
        raise NotAllowed("this tablet is not enrolled here: ask the supervisor for a code (nothing on the tablet is lost)")
    if found.withdrawn:
        raise NotAllowed("tablet %(tablet)s was withdrawn: ask the supervisor (nothing on the tablet is lost)", tablet=found.writer)
    return str(found.writer)


def note_contact(store: RecordStore, writer: str, clock_off_s: int, program: str, waiting: int) -> None:
    """Remember that a tablet was heard of, and what it said of itself."""
    with writing(store.engine) as connection:
        connection.execute(
            update(WriterRow)
            .where(col(WriterRow.nursery) == store.nursery, col(WriterRow.writer) == writer)
            .values(seen=_ms(store.clock()), clock_off_s=clock_off_s, program=program, waiting=waiting)
        )


def list_tablets(store: RecordStore) -> list[Tablet]:
    """Every tablet that was enrolled, withdrawn ones too, oldest first."""
    with reading(store.engine) as connection:
        rows = connection.execute(
            select(WriterRow.__table__)  # type: ignore[attr-defined]
            .where(col(WriterRow.nursery) == store.nursery, col(WriterRow.sort) == "tablet")
            .order_by(col(WriterRow.enrolled), col(WriterRow.writer))
        ).all()
    return [_tablet(row) for row in rows]


def withdraw(store: RecordStore, writer: str, why: str = "", also: Also = _nothing) -> None:
    """Take a tablet's leave to talk away; what it brought stays. Raises NothingSuch."""
    _mark(store, writer, also, withdrawn=True, withdrawn_why=why, withdrawn_at=_ms(store.clock()))


def let_in_again(store: RecordStore, writer: str, also: Also = _nothing) -> None:
    """Undo a withdrawal: the tablet may talk again, with the token that it has. Raises NothingSuch."""
    _mark(store, writer, also, withdrawn=False, withdrawn_why="", withdrawn_at=0)


def _mark(store: RecordStore, writer: str, also: Also, **values: object) -> None:
    with writing(store.engine) as connection:
        changed = connection.execute(
            update(WriterRow)
            .where(
                col(WriterRow.nursery) == store.nursery,
                col(WriterRow.writer) == writer,
                col(WriterRow.sort) == "tablet",
            )
            .values(**values)
        )
        if changed.rowcount == 0:
            raise NothingSuch("there is no tablet %(writer)r: `crosstree tablets list` names them", writer=writer)
        also(connection, writer)


def _tablet(row: Row[Any]) -> Tablet:
    return Tablet(
        writer=row.writer,
        name=row.name,
        head=row.head,
        enrolled_ms=row.enrolled,
        seen_ms=row.seen,
        clock_off_s=row.clock_off_s,
        program=row.program,
        waiting=row.waiting,
        withdrawn=bool(row.withdrawn),
        withdrawn_ms=row.withdrawn_at,
        withdrawn_why=row.withdrawn_why,
    )


def _new_tablet(store: RecordStore, connection: Connection, name: str) -> Credentials:
    token = secrets.token_urlsafe(32)
    taken = set(connection.execute(select(col(WriterRow.writer)).where(col(WriterRow.nursery) == store.nursery)).scalars())
    writer = next(name for name in iter(new_writer, "") if name not in taken)
    row = WriterRow(
        nursery=store.nursery,
        writer=writer,
        sort="tablet",
        name=name,
        token_hash=_hash(token),
        enrolled=_ms(store.clock()),
    )
    connection.execute(WriterRow.__table__.insert().values(**row.model_dump()))  # type: ignore[attr-defined]
    return Credentials(writer, token)


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def _ms(moment: datetime) -> int:
    return int(moment.timestamp() * 1000)
