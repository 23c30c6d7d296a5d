"""Opening a nursery's database: tables are brought up to date first, once, before anything serves from them."""

from functools import cache
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from alembic.util import CommandError
from sqlalchemy import Engine, select
from sqlmodel import col

from server.settings import Settings
from server.store.engine import make_engine, reading, writing
from server.store.models import NurseryRow
from server.store.record import RecordStore
from shared_schema.errors import NothingSuch, RecordError, StorageError
from shared_schema.ids import OFFICE, new_writer

__all__ = ["create_nursery", "migrate", "new_office", "nurseries", "nursery_of", "open_nursery"]


def open_nursery(settings: Settings, name_id: str | None = None) -> RecordStore:
    """The record of the nursery in this database; `name_id` says which where there are several.

    Raises NothingSuch where there is none yet, or the name does not say which; StorageError.
    """
    file = settings.database_file
    if file is not None and not file.exists():
        raise NothingSuch(f"there is no nursery in {settings.data}: make one with `crosstree nursery new NAME`")
    engine = make_engine(settings.database_url)
    migrate(engine)
    found = nurseries(engine)
    chosen = [row for row in found if name_id in (None, row.name_id)]
    if len(chosen) != 1:
        names = ", ".join(row.name_id for row in found) or "none"
        raise NothingSuch(
            f"which nursery? This database holds: {names}"
            if found
            else "this database holds no nursery yet: make one with `crosstree nursery new NAME`"
        )
    return RecordStore(engine, _row_id(chosen[0]))


def create_nursery(
    settings: Settings, name: str, demo: bool = False, name_id: str | None = None, office: str | None = None
) -> RecordStore:
    """Make a nursery, and the database where there is none. Raises RecordError where the name is taken, StorageError."""
    settings.data.mkdir(parents=True, exist_ok=True)
    engine = make_engine(settings.database_url)
    migrate(engine)
    row = NurseryRow(name_id=name_id or new_writer(), name=name, office=office or new_writer(OFFICE), demo=demo)
    if any(known.name == name for known in nurseries(engine)):
        raise RecordError(f"there is a nursery {name!r} already: open it, or choose another name")
    with writing(engine) as connection:
        values = row.model_dump(exclude={"id"})
        made = connection.execute(NurseryRow.__table__.insert().values(**values))  # type: ignore[attr-defined]
        assert made.inserted_primary_key is not None  # noqa: S101  # both databases give it
        nursery = int(made.inserted_primary_key[0])
    return RecordStore(engine, nursery)


def nursery_of(store: RecordStore) -> NurseryRow:
    """The nursery of a record."""
    return next(row for row in nurseries(store.engine) if row.id == store.nursery)


def nurseries(engine: Engine) -> list[NurseryRow]:
    """Every nursery in this database."""
    with reading(engine) as connection:
        rows = connection.execute(select(NurseryRow.__table__).order_by(col(NurseryRow.id)))  # type: ignore[attr-defined]
        return [NurseryRow(**row) for row in rows.mappings()]


def new_office(store: RecordStore) -> str:
    """Let the office write under a new name: after a restore its old numbers may be held by tablets, with other contents."""
    office = new_writer(OFFICE)
    with writing(store.engine) as connection:
        connection.execute(
            NurseryRow.__table__.update().where(col(NurseryRow.id) == store.nursery).values(office=office)  # type: ignore[attr-defined]
        )
    return office


def migrate(engine: Engine) -> None:
    """Bring the tables up to date. Raises StorageError where a newer program made them."""
    with writing(engine) as connection:
        if connection.dialect.name == "postgresql":
            connection.exec_driver_sql("SELECT pg_advisory_xact_lock(7270015)")
        if MigrationContext.configure(connection).get_current_revision() == _newest():
            return
        config = _config()
        config.attributes["connection"] = connection
        try:
            command.upgrade(config, "head")
        except CommandError as error:
            raise StorageError(f"the database is from a newer program ({error}): update this one") from error


@cache
def _newest() -> str | None:
    """The revision that this program's migrations lead to. Reading them takes longer than to look whether a database has it."""
    return ScriptDirectory.from_config(_config()).get_current_head()


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    return config


def _row_id(row: NurseryRow) -> int:
    assert row.id is not None  # noqa: S101  # rows that were read have one
    return row.id
