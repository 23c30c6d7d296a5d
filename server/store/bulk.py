"""Many rows in one statement: written by SQLAlchemy Core, compiled once, handed to the driver as they are.

Going round the per-row value processing doubles the rate; it is allowed because every column of models.py holds
plain numbers, texts and bytes, which both drivers take as they are.
"""

from collections.abc import Sequence
from functools import cache
from typing import Any, Final

from sqlalchemy import Connection, Dialect, Table, bindparam
from sqlalchemy.dialects import postgresql, sqlite
from sqlmodel import SQLModel

__all__ = ["CHUNK", "columns_of", "in_chunks", "insert_rows", "update_rows", "upsert_rows"]

CHUNK: Final = 500
"""How many values go into one IN (...): well under the least limit on parameters of both databases."""

Row = tuple[Any, ...]


def insert_rows(connection: Connection, table: type[SQLModel], rows: Sequence[Row]) -> None:
    """Insert rows, values in the order of the table's columns. A key that is already there is an error."""
    _run(connection, table, _insert(table, connection.dialect.name, False), rows)


def upsert_rows(connection: Connection, table: type[SQLModel], rows: Sequence[Row]) -> None:
    """Insert rows, or replace those whose primary key is already there."""
    _run(connection, table, _insert(table, connection.dialect.name, True), rows)


def update_rows(connection: Connection, table: type[SQLModel], changing: tuple[str, ...], rows: Sequence[Row]) -> None:
    """Of rows that are there, write these columns only; a row has all the table's values, as for upsert_rows."""
    _run(connection, table, _update(table, connection.dialect.name, changing), rows)


def in_chunks(values: Sequence[Any]) -> list[Sequence[Any]]:
    """Values by CHUNK at most."""
    return [values[start : start + CHUNK] for start in range(0, len(values), CHUNK)]


def columns_of(table: type[SQLModel]) -> tuple[str, ...]:
    """The names of a table's columns, in order."""
    return tuple(_table(table).columns.keys())


def _table(table: type[SQLModel]) -> Table:
    found = table.__table__  # type: ignore[attr-defined]  # SQLModel does not declare it
    assert isinstance(found, Table)  # noqa: S101  # for mypy
    return found


_Compiled = tuple[str, tuple[str, ...] | None]


def _run(connection: Connection, table: type[SQLModel], statement: _Compiled, rows: Sequence[Row]) -> None:
    if not rows:
        return
    sql, order = statement
    names = columns_of(table)
    if order is None:
        values: Any = [dict(zip(names, row, strict=True)) for row in rows]
    elif order == names:
        values = list(rows)
    else:
        places = [names.index(name) for name in order]
        values = [tuple([row[place] for place in places]) for row in rows]
    connection.exec_driver_sql(sql, values)


@cache
def _insert(table: type[SQLModel], dialect: str, replace: bool) -> _Compiled:
    target, names = _table(table), columns_of(table)
    insert: Any = (sqlite if dialect == "sqlite" else postgresql).insert(target).values(dict.fromkeys(names))
    if replace:
        keys = [column.name for column in target.primary_key.columns]
        rest = {name: insert.excluded[name] for name in names if name not in keys}
        insert = insert.on_conflict_do_update(index_elements=keys, set_=rest)
    return _compiled(insert, dialect)


@cache
def _update(table: type[SQLModel], dialect: str, changing: tuple[str, ...]) -> _Compiled:
    target = _table(table)
    statement = target.update().values({name: bindparam(name) for name in changing})
    for column in target.primary_key.columns:
        statement = statement.where(column == bindparam(column.name, type_=column.type))
    return _compiled(statement, dialect)


def _compiled(statement: Any, dialect: str) -> _Compiled:
    """(SQL, the order of its values; None where the driver takes values by name)."""
    chosen: Dialect = sqlite.dialect() if dialect == "sqlite" else postgresql.psycopg.dialect()  # type: ignore[no-untyped-call]
    compiled = statement.compile(dialect=chosen)
    return str(compiled), None if compiled.positiontup is None else tuple(compiled.positiontup)
