"""Single values out of the lines of entries, taken out by the database.

Only for entries that are not set aside: the JSON of others may be broken.
"""

from sqlalchemy import ColumnElement, Connection, String, Text, cast, func, literal
from sqlalchemy.dialects.postgresql import JSONB
from sqlmodel import col

from server.store.models import EntryRow

__all__ = ["said"]


def said(connection: Connection, field: str) -> ColumnElement[str | None]:
    """A text field of the entry in a row of `entry`; null where it has none."""
    raw = col(EntryRow.raw)
    if connection.dialect.name == "sqlite":
        return func.json_extract(cast(raw, Text), f'$."{field}"', type_=String)
    text: ColumnElement[str | None] = cast(func.convert_from(raw, literal("UTF8")), JSONB)[field].astext
    return text
