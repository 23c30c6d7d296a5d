"""Single values out of the JSON of a read table, taken out by the database: most rows need not travel whole."""

from typing import Any

from sqlalchemy import ColumnElement, Connection, String, cast, collate, func, type_coerce
from sqlalchemy.dialects.postgresql import JSONB
from sqlmodel import col

from server.store.models import FindingRow, StandingRow

__all__ = ["by_name", "found_value", "stood_open", "stood_since", "stood_value"]


def found_value(connection: Connection, fact: str) -> ColumnElement[str | None]:
    """The value of a text fact in a row of `finding`."""
    return _text(connection, col(FindingRow.slots), "slots", fact, 0)


def stood_open(connection: Connection, fact: str) -> ColumnElement[bool]:
    """Whether a fact is in dispute, in a row of `standing`."""
    return cast(_text(connection, col(StandingRow.facts), fact, 2), String).in_(("1", "true"))


def stood_since(connection: Connection, fact: str) -> ColumnElement[str | None]:
    """The survey that a fact's value is from, in a row of `standing`."""
    return _text(connection, col(StandingRow.facts), fact, 0)


def stood_value(connection: Connection, fact: str) -> ColumnElement[str | None]:
    """The value of a text fact in a row of `standing`."""
    return _text(connection, col(StandingRow.facts), fact, 1)


def by_name(connection: Connection, text: Any) -> ColumnElement[str | None]:
    """A text column or expression that is compared character by character, whatever the language of the database.

    That is how surveys are ordered.
    """
    compared: ColumnElement[str | None] = text
    if connection.dialect.name != "sqlite":
        compared = type_coerce(collate(text, "C"), String)
    return compared


def _text(connection: Connection, column: Any, *steps: str | int) -> ColumnElement[str | None]:
    if connection.dialect.name == "sqlite":
        path = "$" + "".join(f"[{step}]" if isinstance(step, int) else f'."{step}"' for step in steps)
        return func.json_extract(column, path, type_=String)
    taken: ColumnElement[str | None] = cast(column, JSONB)[tuple(steps)].astext
    return by_name(connection, taken)
