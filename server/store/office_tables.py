"""The tables of the office: who may enter, who is in and at what, links that let somebody in once, counted tries, the trail.

The nursery leads every key. Passwords are kept as argon2id hashes; what is random by itself (sessions, links) as SHA-256.
Times are milliseconds since 1970-01-01 UTC.
"""

from typing import Any

from sqlalchemy import BigInteger, Column, Index, String, text
from sqlmodel import Field, SQLModel

__all__ = ["AccountRow", "ClaimRow", "LinkRow", "SessionRow", "TrailRow", "TriesRow"]


def _name() -> Any:
    return Field(sa_column=Column(String().with_variant(String(collation="C"), "postgresql"), primary_key=True))


def _big(**more: Any) -> Any:
    return Field(sa_column=Column(BigInteger, nullable=False, **more))


class AccountRow(SQLModel, table=True):
    """Somebody who may enter. `role` is "reader", "crew" or "supervisor"; without a hash no password fits.

    `language` is what they read the pages in, "" for what their browser asks for.
    """

    __tablename__ = "account"

    nursery: int = Field(primary_key=True)
    person: str = _name()
    name: str
    role: str
    password_hash: str | None = None
    active: bool = True
    made: int = _big()
    language: str = Field(default="", sa_column_kwargs={"server_default": text("''")})


class SessionRow(SQLModel, table=True):
    """A browser that is in. `session` is the hash of what its cookie holds."""

    __tablename__ = "office_session"
    __table_args__ = (Index("office_session_person", "nursery", "person"),)

    nursery: int = Field(primary_key=True)
    session: str = Field(primary_key=True)
    person: str
    begun: int = _big()
    seen: int = _big()
    expires: int = _big()
    browser: str = ""
    address: str = ""


class LinkRow(SQLModel, table=True):
    """A link that works once. `purpose` is "password" (set one) or "sign_in"; `used` is 0 until then."""

    __tablename__ = "office_link"
    __table_args__ = (Index("office_link_person", "nursery", "person"),)

    nursery: int = Field(primary_key=True)
    link_hash: str = Field(primary_key=True)
    person: str
    purpose: str
    expires: int = _big()
    used: int = _big(default=0, server_default=text("0"))


class TriesRow(SQLModel, table=True):
    """How often something was tried since `began`: `what` is a hash of the account that was named, or of an address."""

    __tablename__ = "office_tries"

    nursery: int = Field(primary_key=True)
    what: str = Field(primary_key=True)
    began: int = _big()
    tries: int = _big()


class TrailRow(SQLModel, table=True):
    """Something that somebody did to accounts, sessions or tablets. `id` sorts as time does; `who` is "" for the command line."""

    __tablename__ = "office_trail"

    nursery: int = Field(primary_key=True)
    id: str = _name()
    at: int = _big()
    who: str
    what: str
    about: str = ""
    detail: str = ""
    address: str = ""


class ClaimRow(SQLModel, table=True):
    """The question that somebody has in front of them in a browser, until a moment: others are told, and kept from nothing."""

    __tablename__ = "office_claim"

    nursery: int = Field(primary_key=True)
    session: str = Field(primary_key=True)
    person: str
    survey: str
    subject: str
    fact: str
    since: int = _big()
    until: int = _big()
