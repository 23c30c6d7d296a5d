"""The tables. The nursery leads every key, so that a database can be divided by nursery.

Columns hold plain numbers, texts and bytes: the bulk statements hand rows to the driver as they are. Times are
milliseconds since 1970-01-01 UTC. `entry` is the record; `finding` and `standing` are read tables that can be folded
from it again at any time; the rest is about who may do what.
"""

from typing import Any, Final

from sqlalchemy import BigInteger, Column, Index, Integer, LargeBinary, String, Text, text
from sqlmodel import Field, SQLModel

from server.store.picked import GONE, PLACED, SIZED

__all__ = ["CodeRow", "EntryRow", "FindingRow", "NurseryRow", "PhotoRow", "StandingRow", "WriterRow"]

_KEYED: Final = {"sqlite_with_rowid": False}
"""Rows lie in the order of their key: one tree to write instead of two."""


def _name(**more: Any) -> Any:
    """Names are in the order of their bytes, on every database: the order of surveys must not hang on a locale."""
    return Field(sa_column=Column(String().with_variant(String(collation="C"), "postgresql"), **more))


def _big(**more: Any) -> Any:
    return Field(sa_column=Column(BigInteger, nullable=False, **more))


def _where_known(column: str, *more: str) -> Index:
    known = text(f"{column} IS NOT NULL")
    return Index(f"standing_{column}", "nursery", column, *more, postgresql_where=known, sqlite_where=known)


def _where(name: str, condition: str, *columns: str) -> Index:
    """An index on the findings that a condition picks; the database takes it where a query says just that."""
    picked = text(condition.replace("finding.", ""))
    return Index(name, "nursery", *columns, postgresql_where=picked, sqlite_where=picked)


class NurseryRow(SQLModel, table=True):
    """One nursery. `name_id` is its name on the wire; `office` is the writer that the office writes as now."""

    __tablename__ = "nursery"

    id: int | None = Field(default=None, primary_key=True)
    name_id: str = Field(index=True, unique=True)
    name: str
    office: str
    demo: bool = False


class WriterRow(SQLModel, table=True):
    """Whoever writes: how far its entries are held, and for a tablet its token's hash and how it was last seen.

    `sort` is "tablet", "office" or "relayed" (known only by entries that another tablet brought).
    """

    __tablename__ = "writer"
    __table_args__ = (Index("writer_token", "token_hash", unique=True),)

    nursery: int = Field(primary_key=True)
    writer: str = _name(primary_key=True)
    sort: str
    name: str = ""
    head: int = Field(default=0, sa_column=Column(BigInteger, nullable=False, server_default=text("0")))
    token_hash: str | None = None
    withdrawn: bool = False
    enrolled: int = _big(default=0)
    seen: int = _big(default=0)
    clock_off_s: int = _big(default=0)
    program: str = ""
    waiting: int = 0
    withdrawn_why: str = ""
    withdrawn_at: int = _big(default=0, server_default=text("0"))


class EntryRow(SQLModel, table=True):
    """An entry as its author wrote it, byte for byte. `set_aside` says why it folds to nothing, where it does."""

    __tablename__ = "entry"
    __table_args__ = (
        Index("entry_group", "nursery", "survey", "subject"),
        Index(
            "entry_aside",
            "nursery",
            "set_aside",
            postgresql_where=text("set_aside IS NOT NULL"),
            sqlite_where=text("set_aside IS NOT NULL"),
        ),
        _KEYED,
    )

    nursery: int = Field(sa_column=Column(Integer, primary_key=True, autoincrement=False))
    writer: str = _name(primary_key=True)
    number: int = Field(sa_column=Column(BigInteger, primary_key=True, autoincrement=False))
    survey: str = _name(nullable=False)
    subject: str = _name(nullable=False)
    raw: bytes = Field(sa_column=Column(LargeBinary, nullable=False))
    received: int = _big()
    via: str
    clock_off_s: int = _big()
    set_aside: str | None = None


class FindingRow(SQLModel, table=True):
    """What a survey found of a subject (shared_schema.fold.Finding): `slots` as JSON, and what pages sort and count by.

    `open` is the number of facts in dispute. `place` is where a fragment was hung in this survey, else where it was seen; a
    page's or position's address. `covered` of a page or structure: "signed_off" where somebody did, else "not_reached".
    """

    __tablename__ = "finding"
    __table_args__ = (
        # All that what follows on something asks for, and all that maps and counts do: they read no row besides.
        Index("finding_subject", "nursery", "subject", "survey", "status", "structure"),
        Index("finding_structure", "nursery", "survey", "structure", "sort", "status", "open", "place", "covered"),
        Index("finding_open", "nursery", "survey", postgresql_where=text("open > 0"), sqlite_where=text("open > 0")),
        _where("finding_gone", GONE, "sort", "survey", "status"),
        _where("finding_placed", PLACED, "sort", "survey", "place"),
        _where("finding_sized", SIZED, "subject"),
        _KEYED,
    )

    nursery: int = Field(sa_column=Column(Integer, primary_key=True, autoincrement=False))
    survey: str = _name(primary_key=True)
    subject: str = _name(primary_key=True)
    sort: str
    structure: str | None = None
    place: str | None = None
    status: str | None = None
    covered: str | None = None
    open: int
    slots: str = Field(sa_column=Column(Text, nullable=False))


class StandingRow(SQLModel, table=True):
    """What is known of a subject now (shared_schema.fold.Standing): `facts` as JSON, and what pages look up.

    `place_survey` and `status_survey` are the surveys that these are from; `state` of a fragment:
    server.store.states; `tag_key`: server.store.tags.
    """

    __tablename__ = "standing"
    __table_args__ = (
        Index("standing_sort", "nursery", "sort", "state"),
        _where_known("structure", "sort", "state"),
        _where_known("genet", "sort", "state"),
        _where_known("parent"),
        _where_known("tag_key"),
        _KEYED,
    )

    nursery: int = Field(sa_column=Column(Integer, primary_key=True, autoincrement=False))
    subject: str = _name(primary_key=True)
    sort: str
    structure: str | None = None
    place: str | None = None
    place_survey: str | None = _name(nullable=True)
    status: str | None = None
    status_survey: str | None = None
    state: str | None = None
    genet: str | None = None
    parent: str | None = None
    tag: str | None = None
    tag_key: str | None = None
    facts: str = Field(sa_column=Column(Text, nullable=False))


class CodeRow(SQLModel, table=True):
    """A one-time code that enrols a tablet; only its hash is kept."""

    __tablename__ = "code"

    code_hash: str = Field(primary_key=True)
    nursery: int
    expires: int = _big()
    used_by: str | None = None


class PhotoRow(SQLModel, table=True):
    """A photo that is here whole and checked; its bytes are in the photo folder under its SHA-256."""

    __tablename__ = "photo"

    nursery: int = Field(primary_key=True)
    sha256: str = Field(primary_key=True)
    size: int = _big()
    received: int = _big()
