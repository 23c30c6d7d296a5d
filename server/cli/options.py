"""The options that several commands share."""

from pathlib import Path
from typing import Annotated, TypeAlias

import typer

from server.settings import Settings
from server.store.opening import open_nursery
from server.store.record import RecordStore

__all__ = ["By", "Data", "Database", "opened"]

Data: TypeAlias = Annotated[
    Path | None,
    typer.Option(
        "--data",
        metavar="DIR",
        help="The folder of the record. Unless given: CROSSTREE_DATA, or your data folder.",
        show_default=False,
        file_okay=False,
    ),
]
Database: TypeAlias = Annotated[
    str | None,
    typer.Option(
        "--database",
        metavar="URL",
        help="Its database, where that is no file in the folder: postgresql+psycopg://USER@HOST/NAME. "
        "Unless given: CROSSTREE_DATABASE_URL.",
        show_default=False,
    ),
]
By: TypeAlias = Annotated[str, typer.Option("--by", metavar="PERSON", help="Who does this, by the id in the record.")]


def opened(data: Path | None, database: str | None) -> RecordStore:
    """The record that these options name. Raises NothingSuch where there is none, StorageError."""
    return open_nursery(Settings.of(data, database))
